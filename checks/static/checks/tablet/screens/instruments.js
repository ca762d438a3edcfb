/** Which instruments, how the dial is set up, and whether the sheet's limits say that they can prove the window. */

import { setFor, pinTools, briefOf } from "../brief.js";
import { h } from "../dom.js";
import { parse, shown } from "../numbers.js";
import { readingsOf } from "../sequence.js";
import { choices, nextButton, settle, tick, wrongAt, wrongNumber } from "./parts.js";

const ROLES = {
  dial: { label: "Dial indicator" },
  stimulus: { label: "Pressure instrument" },
  meter: { label: "Multimeter", optional: true },
  regulator: { label: "Regulator", optional: true },
};
// What a sheet told that was fetched before sheets said which kind plays which part.
const KINDS = { dial: ["dial"], stimulus: ["transducer", "gauge"], command: ["command"], meter: ["multimeter"], regulator: ["regulator"] };
const ANGLE_MOST = 45;

export function show(context) {
  const { draft, brief, words } = context;
  const chosen = (draft.ui.chosen ??= { ...(draft.instruments ?? best(context)) });
  const set_up = (draft.ui.set_up ??= { ...(draft.alignment ?? { geometry: words.geometries[0][0], angle_deg: null, angle_max_deg: "5" }) });
  const roles = brief.electric ? ["dial", "stimulus"] : Object.keys(ROLES);
  return {
    nodes: [
      h("p", { class: "lead", text: words.leads.instruments + (draft.instruments ? "" : " The set of your depot that proves the window best is chosen already.") }),
      h("div", { class: "pair" }, roles.map((role) => select(context, role, chosen))),
      fitness(context, chosen, set_up),
      h("details", { class: "set-up", open: wrongAt(context, "angle_deg") || set_up.angle_deg !== null ? true : null },
        h("summary", { text: `Set-up of the dial: ${words.geometries.find(([value]) => value === set_up.geometry)[1]}` }),
        choices("geometry", "How the plunger meets the moving part", words.geometries, set_up.geometry, (value) => { set_up.geometry = value; context.again(""); }),
        angle(context, set_up)),
    ],
    foot: nextButton("Next", () => take(context, chosen, set_up)),
  };
}

function label({ brief }, role) {
  return role === "stimulus" && brief.electric ? "Command tool" : ROLES[role].label;
}

/** Those that can play a role, of the unit's own depot first. */
function offered({ brief }, role) {
  const known = brief.sheet.kinds ?? KINDS;
  const kinds = role === "stimulus" && brief.electric ? known.command : known[role];
  const here = brief.unit.depot;
  return brief.sheet.instruments
    .filter((one) => kinds.includes(one.kind))
    .sort((a, b) => Number(a.depot !== here) - Number(b.depot !== here) || a.label.localeCompare(b.label));
}

function select(context, role, chosen) {
  const { brief } = context;
  const wrong = wrongAt(context, role);
  const depots = Object.fromEntries((brief.sheet.depots ?? []).map((one) => [one.pk, one.name]));
  const several = role === "stimulus" && !brief.electric;
  const words = (one) => [one.label, several && one.kind_word, one.depot !== brief.unit.depot && depots[one.depot]].filter(Boolean).join(" · ");
  const options = offered(context, role).map((one) => h("option", { value: one.pk, selected: one.pk === chosen[role], text: words(one) }));
  const change = (event) => { chosen[role] = Number(event.target.value) || null; context.draft.ui.knowing = false; context.again(""); };
  return h("div", { class: `field${wrong ? " wrong" : ""}` },
    h("label", { for: `f-${role}` }, label(context, role), ROLES[role].optional && h("span", { class: "soft", text: " (if used)" })),
    h("select", { id: `f-${role}`, onchange: change }, h("option", { value: "", text: ROLES[role].optional ? "None" : "Choose" }), options),
    wrong && h("p", { class: "wrong-text", role: "alert", text: wrong }));
}

/** The set of the unit's own depot with the fewest problems, then the smallest uncertainty: all of it on the sheet. */
function best({ draft, brief }) {
  const { sheet, unit, words } = brief;
  const depot = Object.fromEntries(sheet.instruments.map((one) => [one.pk, one.depot]));
  const geometry = words.geometries[0][0];
  const own = sheet.sets.filter((set) => set.specification === draft.specification && depot[set.dial] === unit.depot && depot[set.stimulus] === unit.depot);
  const rank = (set) => [set.marks.limits[geometry].problems.length, set.marks.limits[geometry].expanded_mm];
  const first = own.sort((a, b) => rank(a)[0] - rank(b)[0] || rank(a)[1] - rank(b)[1])[0];
  const regulator = sheet.instruments.find((one) => one.kind === "regulator" && one.depot === unit.depot);
  return { dial: first?.dial ?? null, stimulus: first?.stimulus ?? null, meter: first?.meter ?? null, regulator: brief.electric ? null : (regulator?.pk ?? null) };
}

function problemsOf({ draft, brief, words }, chosen, set_up) {
  if (!chosen.dial || !chosen.stimulus) return null;
  const set = setFor(chosen, draft.specification, brief.sheet);
  const today = new Date().toISOString().slice(0, 10);
  const late = Object.values(chosen)
    .map((pk) => brief.sheet.instruments.find((one) => one.pk === pk))
    .filter((one) => one?.certificate && one.certificate.due_on < today)
    .map((one) => `${one.label} was due for calibration on ${one.certificate.due_text}.`);
  const limits = set?.marks?.limits[set_up.geometry];
  const known = limits?.problems ?? [];
  // A lapse that the sheet knows of already is not told twice.
  return { limits, problems: [...known, ...late.filter((sentence) => !known.some((one) => one.includes("due for calibration") && one.includes(sentence.split(" was ")[0])))], unknown: !set };
}

function fitness(context, chosen, set_up) {
  const { brief, words, draft } = context;
  const found = problemsOf(context, chosen, set_up);
  const unit = brief.lengthUnit;
  const title = h("h2", { text: "Can this set prove the window?" });
  if (!found) return h("section", { class: "fitness" }, title, h("p", { class: "soft", text: `Choose the dial indicator and the ${brief.electric ? "command tool" : "pressure instrument"} first.` }));
  if (found.unknown) return h("section", { class: "fitness" }, title, h("p", { class: "soft", text: "This tablet has no limits for this set. The check can be made; the server says what it proves." }));
  const { limits, problems } = found;
  const range = limits.inside_from === null ? "" : `${shown(limits.inside_from, unit, words, false)} to ${shown(limits.inside_to, unit, words)}`;
  const soft = `Expanded uncertainty ${shown(limits.expanded_mm, unit, words)}; test uncertainty ratio ${limits.ratio.toFixed(1)}.`;
  const knows = (now) => { draft.ui.knowing = now; context.keep(); };
  return h("section", { class: "fitness", "aria-live": "polite" }, title,
    problems.length === 0
      ? [h("p", { class: "answer" }, "Yes. A reading from ", h("strong", { class: "nowrap", text: range }), " will prove it."), h("p", { class: "soft", text: soft })]
      : [h("p", { class: "answer", text: "Not as it stands." }), h("ul", {}, problems.map((one) => h("li", { text: one }))), h("p", { class: "soft", text: soft }),
        tick("f-knowing", "I know this, and use the set all the same.", Boolean(draft.ui.knowing), knows, wrongAt(context, "knowing"))]);
}

function angle(context, set_up) {
  const { draft } = context;
  const measured = set_up.angle_deg !== null;
  const wrong = wrongAt(context, "angle_deg");
  const other = (value) => { set_up.angle_deg = value === "measured" ? (draft.ui.angle ?? "") : null; context.again(""); };
  return [
    choices("angle", "Angle of the dial to the rod", [["within", "not measured, within 5 degrees"], ["measured", "measured"]], measured ? "measured" : "within", other),
    measured && h("div", { class: `field${wrong ? " wrong" : ""}` },
      h("label", { for: "f-angle", text: "Angle measured, degrees" }),
      h("input", { id: "f-angle", inputmode: "decimal", autocomplete: "off", maxlength: 8, value: set_up.angle_deg, oninput: (event) => { set_up.angle_deg = draft.ui.angle = event.target.value; context.keep(); } }),
      wrong ? h("p", { class: "wrong-text", role: "alert", text: wrong }) : h("p", { class: "hint", text: "With a measured angle the verdict waits for the server." })),
  ];
}

function take(context, chosen, set_up) {
  const { draft, brief, words } = context;
  const by = (pk) => brief.sheet.instruments.find((one) => one.pk === pk) ?? null;
  const wrong = {};
  for (const role of ["dial", "stimulus"]) {
    if (!chosen[role]) wrong[role] = `No ${label(context, role).toLowerCase()} is chosen. Choose one from the list.`;
  }
  const [stimulus, meter] = [by(chosen.stimulus), by(chosen.meter)];
  if (stimulus?.kind === "transducer" && !meter) wrong.meter = `${stimulus.label} is read on a multimeter. Choose the one that you use.`;
  else if (stimulus?.kind === "transducer" && meter.electrical_unit !== stimulus.electrical_unit) wrong.meter = `${stimulus.label} gives ${stimulus.electrical_unit}, ${meter.label} reads ${meter.electrical_unit}. Choose a multimeter that reads ${stimulus.electrical_unit}.`;
  else if (stimulus && stimulus.kind !== "transducer" && meter) wrong.meter = `${stimulus.label} is read on its own scale. Choose no multimeter.`;
  if (set_up.angle_deg !== null) {
    const degrees = parse(set_up.angle_deg);
    wrong.angle_deg = wrongNumber(set_up.angle_deg, "The angle", words) || (degrees < 0 || degrees > ANGLE_MOST ? `The dial's angle lies from 0 to ${ANGLE_MOST} degrees.` : "");
  }
  wrong.stimulus ||= otherScale(context, chosen, stimulus, meter);
  const found = problemsOf(context, chosen, set_up);
  if (found?.problems.length && !draft.ui.knowing) wrong.knowing = "This set is not fit, as told above. Choose another set, or tick the box.";
  if (!settle(context, wrong)) return context.again("");
  draft.instruments = { dial: chosen.dial, stimulus: chosen.stimulus, meter: chosen.meter ?? null, regulator: chosen.regulator ?? null };
  draft.alignment = { geometry: set_up.geometry, angle_deg: set_up.angle_deg === null ? null : set_up.angle_deg.trim(), angle_max_deg: set_up.angle_max_deg };
  pinTools(draft, briefOf(draft, brief.sheet));
  return context.next();
}

/** Readings already entered must still mean what they meant. */
function otherScale({ draft, brief }, chosen, stimulus, meter) {
  const entered = ["as_found", "as_left"].flatMap((moment) => readingsOf(draft, moment));
  if (!stimulus || !entered.length) return "";
  const units = brief.electric ? ["%"] : meter ? [meter.electrical_unit] : ["kPa", "psi", "bar"];
  const strange = entered.find((reading) => !units.includes(reading.stimulus.unit))?.stimulus.unit;
  return strange ? `Readings were entered in ${strange}, and ${stimulus.label} is read in ${units.join(" or ")}. Go on with an instrument that is read in ${strange}, or discard this check and begin again.` : "";
}
