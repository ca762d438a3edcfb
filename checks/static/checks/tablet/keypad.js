/** Boxes for numbers and our own keys for them: digits, half a division, one division up and down. */

import { button, h } from "./dom.js";
import { divisionIn, moved, plainly } from "./numbers.js";

/**
 * @typedef {Object} Box one number to be entered
 * @property {string} name
 * @property {string} label
 * @property {{text: string, unit: string}} typed  changed in place, text kept as typed
 * @property {string[]} units     offered in turn where there are several
 * @property {number} [division]  of the instrument, in the unit kept; none: whole numbers
 * @property {boolean} [signed]   may be below zero
 * @property {string} [wrong]     why it was refused
 */

/**
 * @param {Box[]} boxes
 * @param {{words: Object, focus?: string, changed: (box: Box) => void, entered: () => void, face: () => string, extra?: Node[]}} how
 *   `entered`: the last box was left by the key that says `face()`
 */
export function entry(boxes, how) {
  let here = boxes.find((box) => box.name === how.focus) ?? boxes.find((box) => box.wrong) ?? boxes[0];
  const inputs = new Map();
  const keys = {};

  function write(text) {
    here.typed.text = text;
    inputs.get(here).value = text;
    after();
  }

  function after() {
    how.changed(here);
    name();
  }

  function forward() {
    const next = boxes[boxes.indexOf(here) + 1];
    if (next) inputs.get(next).focus();
    else how.entered();
  }

  function step(share) {
    const by = divisionOf(here, how.words) * share;
    const text = moved(here.typed.text, by);
    write(!here.signed && text.startsWith("-") ? moved("0", 0) : text);
  }

  /** What the keys say depends on the box and its unit. */
  function name() {
    const size = divisionOf(here, how.words);
    const unit = here.typed.unit;
    face(keys.up, `+${plainly(size)}`, `Add ${plainly(size)} ${unit}, one division`);
    face(keys.down, `−${plainly(size)}`, `Take away ${plainly(size)} ${unit}, one division`);
    face(keys.half, "+½", `Add ${plainly(size / 2)} ${unit}, half a division`);
    keys.half.disabled = !here.division;
    keys.sign.disabled = !here.signed;
    keys.point.disabled = !here.division && !here.decimal;
    const next = boxes[boxes.indexOf(here) + 1];
    face(keys.enter, next ? next.label.split(",")[0] : how.face(), next ? `Next: ${next.label}` : null);
    for (const [box, input] of inputs) input.closest(".box").classList.toggle("here", box === here);
  }

  function boxFor(box) {
    const input = h("input", {
      id: `f-${box.name}`, type: "text", inputmode: "none", autocomplete: "off", maxlength: 24, value: box.typed.text,
      "aria-invalid": box.wrong ? "true" : null, "aria-describedby": box.wrong ? `d-${box.name}` : null,
      onfocus: () => { here = box; name(); how.moved?.(box); },
      oninput: () => { here = box; box.typed.text = input.value; after(); },
      onkeydown: (event) => keyed(event),
    });
    inputs.set(box, input);
    return h("div", { class: `box${box.wrong ? " wrong" : ""}` },
      h("label", { for: input.id }, box.label),
      h("div", { class: "value" }, input, unitOf(box)),
      box.wrong && h("p", { class: "wrong-text", id: `d-${box.name}`, text: box.wrong }));
  }

  function unitOf(box) {
    if (box.units.length < 2) return h("span", { class: "unit", text: box.typed.unit });
    const one = button(box.typed.unit, () => {
      box.typed.unit = box.units[(box.units.indexOf(box.typed.unit) + 1) % box.units.length];
      face(one, box.typed.unit, `Unit of ${box.label}: ${box.typed.unit}. Change it`);
      here = box;
      after();
    }, { class: "unit" });
    face(one, box.typed.unit, `Unit of ${box.label}: ${box.typed.unit}. Change it`);
    return one;
  }

  function keyed(event) {
    if (event.key === "Enter") forward();
    else if (event.key === "ArrowUp") step(1);
    else if (event.key === "ArrowDown") step(-1);
    else return;
    event.preventDefault();
  }

  const key = (words, act, label, kind) => {
    const one = button(words, act, { class: `key ${kind ?? ""}` });
    if (label) one.setAttribute("aria-label", label);
    // The box keeps the focus, and a real keyboard goes on in it.
    one.addEventListener("pointerdown", (event) => event.preventDefault());
    return one;
  };
  const digit = (n) => key(n, () => here.typed.text.length < 24 && write(here.typed.text + n), null, "digit");
  keys.up = key("", () => step(1), null, "step");
  keys.down = key("", () => step(-1), null, "step");
  keys.half = key("", () => step(0.5), null, "step");
  keys.sign = key("±", () => write(here.typed.text.startsWith("-") ? here.typed.text.slice(1) : `-${here.typed.text}`), "Change the sign");
  keys.point = key(".", () => /[.,]/.test(here.typed.text) || write(`${here.typed.text || "0"}.`), "Decimal point", "digit");
  keys.enter = key("", forward, null, "enter");
  const pad = h("div", { class: "keypad", role: "group", "aria-label": "Keys for numbers" },
    digit(7), digit(8), digit(9), key("⌫", () => write(here.typed.text.slice(0, -1)), "Delete the last digit"), keys.up,
    digit(4), digit(5), digit(6), keys.sign, keys.down,
    digit(1), digit(2), digit(3), key("C", () => write(""), "Clear the box"), keys.half,
    keys.point, digit(0), keys.enter);
  const fields = h("div", { class: `boxes n${boxes.length}` }, boxes.map(boxFor));
  name();
  return {
    element: h("div", { class: "entry-pad" }, fields, how.extra ?? [], pad),
    /** Puts the cursor where the next number goes. */
    focus: () => {
      const input = inputs.get(here);
      input.focus({ preventScroll: true });
      input.setSelectionRange(input.value.length, input.value.length);
      pad.scrollIntoView({ block: "nearest" });
    },
    rename: name,
    write: (box, text) => { box.typed.text = text; inputs.get(box).value = text; },
  };
}

function divisionOf(box, words) {
  return box.division ? divisionIn(box.division, box.typed.unit, words) : 1;
}

function face(one, words, label) {
  one.textContent = words;
  if (label) one.setAttribute("aria-label", label);
  else one.removeAttribute("aria-label");
}
