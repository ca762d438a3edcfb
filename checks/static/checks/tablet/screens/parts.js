/** What several screens are made of. */

import { button, h } from "../dom.js";
import { entry } from "../keypad.js";
import { isUnclear, kept, parse, typedText } from "../numbers.js";
import { prefix, readingsOf } from "../sequence.js";
import { say } from "../dom.js";
import { net, zeroOf } from "../warn.js";

/** The text being typed into a box, kept with the check until it becomes a reading. */
export function typing(context, name, fresh) {
  const { draft, step } = context;
  draft.ui.typing ??= {};
  draft.ui.typing[step.slug] ??= {};
  draft.ui.typing[step.slug][name] ??= fresh();
  return draft.ui.typing[step.slug][name];
}

export function forget({ draft, step }, ...names) {
  for (const name of names) delete draft.ui.typing?.[step.slug]?.[name];
}

/** The box for pressure, command or meter. */
export function stimulusBox(context, { signed = false, label = "", kept: before = null } = {}) {
  const { brief } = context;
  const { meter } = brief.tools;
  return {
    name: "stimulus",
    label: (label || (brief.electric ? "Command" : meter ? `Meter ${meter.label}` : "Pressure")) + ventedWords(context, signed),
    typed: typing(context, "stimulus", () => ({ text: before?.stimulus.text ?? "", unit: before?.stimulus.unit ?? lastUnit(context, "stimulus") })),
    units: brief.stimulusUnits,
    division: brief.stimulusDivision,
    signed,
    wrong: wrongAt(context, "stimulus"),
  };
}

/** The box for the dial. */
export function travelBox(context, { signed = false, kept: before = null } = {}) {
  const { brief } = context;
  return {
    name: "travel",
    label: `Travel${ventedWords(context, signed)}`,
    typed: typing(context, "travel", () => ({ text: before?.travel?.text ?? "", unit: before?.travel?.unit ?? lastUnit(context, "travel") })),
    units: brief.travelUnits,
    division: brief.travelDivision,
    signed,
    wrong: wrongAt(context, "travel"),
  };
}

/** On the way up a vented reading has to be told from a rising one. */
function ventedWords({ brief, step }, signed) {
  return signed && step.kind === "rise" ? (brief.electric ? ", at zero" : ", vented") : "";
}

/** The unit last typed in this check; whoever chose psi once means psi. */
function lastUnit({ draft, brief }, name) {
  const offered = name === "stimulus" ? brief.stimulusUnits : brief.travelUnits;
  for (const moment of ["as_left", "as_found"]) {
    const found = readingsOf(draft, moment).findLast((reading) => offered.includes(reading[name]?.unit));
    if (found) return found[name].unit;
  }
  return name === "stimulus" ? brief.stimulusFirst : brief.travelFirst;
}

export function wrongAt({ draft, step }, name) {
  return draft.ui.wrong?.[step.slug]?.[name] ?? "";
}

/** Note what is wrong with the boxes of this step. @returns {boolean} whether nothing is */
export function settle({ draft, step }, wrong) {
  const found = Object.fromEntries(Object.entries(wrong).filter(([, sentence]) => sentence));
  draft.ui.wrong = { ...draft.ui.wrong, [step.slug]: found };
  return Object.keys(found).length === 0;
}

/** Why a text is no number; empty where it is one. */
export function wrongNumber(text, name, words) {
  if (!String(text ?? "").trim()) return `${name} is missing. Enter a number.`;
  if (parse(text) !== null) return "";
  return say(isUnclear(text) ? words.unclear : words.not_a_number, { text });
}

/** Why a pair of boxes is no reading of `phase`. */
export function wrongPair(context, boxes, phase) {
  const { words, brief, draft, moment } = context;
  const wrong = {};
  for (const box of boxes) {
    const unread = box.optional && !box.typed.text.trim();
    wrong[box.name] = unread ? "" : wrongNumber(box.typed.text, box.label, words);
  }
  const [first, second] = boxes;
  const vented = ["zero", "zero_return", "vent"].includes(phase);
  if (!wrong.stimulus && vented) {
    const zero = phase === "zero" ? null : zeroOf(draft, moment);
    const shift = phase === "zero" && brief.tools.meter ? brief.tools.stimulus.offset * brief.marks.direction : 0;
    const off = net(first.typed, zero, brief) - shift;
    if (Math.abs(off) > brief.marks.setting / 2) wrong.stimulus = say(words.not_vented, { typed: typedText(first.typed) });
  }
  if (!wrong.travel && second?.name === "travel" && second.typed.text.trim()) {
    const travel = kept(second.typed, words);
    if (travel > 100 || travel < (vented ? -2 : 0)) wrong.travel = `${typedText(second.typed)} cannot be a travel. Check the number and its unit.`;
  }
  return wrong;
}

/** A reading in the form of a submission, texts as typed. */
export function readingOf(phase, boxes, seconds = null) {
  const by = Object.fromEntries(boxes.map((box) => [box.name, box.typed.text.trim() ? { text: box.typed.text.trim(), unit: box.typed.unit } : null]));
  return { phase, stimulus: by.stimulus, travel: by.travel ?? null, seconds };
}

/** Boxes with keys, tied to this screen: every keystroke is kept. */
export function pad(context, boxes, { entered, face, focus, changed, moved, extra }) {
  return entry(boxes, {
    words: context.words, focus, entered, face, extra, moved,
    changed: (box) => { context.keep(); changed?.(box); },
  });
}

/** A line of large choices of which one holds. */
export function choices(name, legend, offered, chosen, choose, { wrong = "", short = false } = {}) {
  return h("fieldset", { class: `tiles${wrong ? " wrong" : ""}${short ? " short" : ""}` },
    h("legend", { text: legend }),
    offered.map(([value, label]) =>
      h("label", {}, h("input", { type: "radio", name, value, checked: value === chosen, onchange: () => choose(value) }), h("span", { text: label[0].toUpperCase() + label.slice(1) }))),
    wrong && h("p", { class: "wrong-text", role: "alert", text: wrong }));
}

export function tick(id, label, checked, change, wrong = "") {
  return h("div", { class: `tick${wrong ? " wrong" : ""}` },
    h("label", {}, h("input", { type: "checkbox", id, checked, onchange: (event) => change(event.target.checked) }), label),
    wrong && h("p", { class: "wrong-text", role: "alert", text: wrong }));
}

export function nextButton(words, act, { waits = false } = {}) {
  return button(words, act, { class: waits ? "next" : "next primary" });
}

/** Stop: what was passed, and the way out that keeps everything. */
export function stopNotice(sentence, stop) {
  return h("div", { class: "notice wrong stop", role: "alert" },
    h("p", {}, h("strong", { text: sentence })),
    stop && button("The actuator did see it: stop the stroke here", stop));
}

/** The readings of a stroke, the latest first, to be corrected or deleted; an approach that was vented is struck out. */
export function readingList(context, phases, correct) {
  const { draft, moment, words, brief } = context;
  const readings = readingsOf(draft, moment, ...phases);
  if (!readings.length) return null;
  const vent = readings.findLastIndex((reading) => reading.phase === "vent");
  const rows = readings.map((reading, i) =>
    h("tr", { class: i < vent ? "faint" : null },
      h("td", { text: i + 1 }),
      h("td", { text: words.phases[reading.phase] + (reading.seconds ? `, ${reading.seconds} s` : "") }),
      h("td", { class: "number nowrap", text: typedText(reading.stimulus) }),
      h("td", { class: "number nowrap", text: typedText(reading.travel) }),
      correct && h("td", {}, h("div", { class: "row-acts" },
        named(button("Correct", () => correct.change(i)), `Correct reading ${i + 1}`),
        named(button("Delete", () => correct.drop(i)), `Delete reading ${i + 1}`)))));
  const titles = ["No.", "What", brief.electric ? "Command" : "Pressure", "Travel"];
  return h("table", { class: "taken" },
    h("thead", {}, h("tr", {}, titles.map((title, i) => h("th", { scope: "col", class: i > 1 ? "number" : null, text: title })),
      correct && h("th", { scope: "col" }, h("span", { class: "visually-hidden", text: "Correct or delete" })))),
    h("tbody", {}, rows.reverse()));
}

function named(one, label) {
  one.setAttribute("aria-label", label);
  return one;
}

export function slugOf(moment, kind) {
  return prefix(moment) + kind;
}
