/** The rise that counts: readings one by one, up to the reading at the setting. */

import { button, h } from "../dom.js";
import { shown } from "../numbers.js";
import { strokePlot } from "../plot.js";
import { giveUp, readingsOf, reopen, replaceSection } from "../sequence.js";
import { onTheMeter, reaches, watchRise, zeroOf } from "../warn.js";
import { forget, nextButton, pad, readingList, readingOf, settle, slugOf, stimulusBox, stopNotice, travelBox, wrongPair } from "./parts.js";

const PHASES = ["rise", "setting", "vent"];

export function show(context) {
  const { draft, brief, words, moment } = context;
  const readings = readingsOf(draft, moment, ...PHASES);
  const place = draft.ui.place ?? null;
  const before = place === null ? null : readings[place];
  const now = watchRise(draft, moment, brief);
  const vented = before ? before.phase === "vent" : now.level === "again" || now.level === "reached";
  const boxes = [stimulusBox(context, { signed: vented, kept: before }), travelBox(context, { signed: vented, kept: before })];
  const host = h("div", { class: "picture" });
  const typed = () => (before ? null : boxes[0].typed);
  const redraw = strokePlot(host, () => ({ draft, moment, brief, typed: vented ? null : typed() }));
  const said = h("p", { class: "watch", role: "status" });
  const acts = h("div", { class: "acts" });
  const closed = !before && ["again", "stop", "reached"].includes(now.level);

  let whole = false;
  const live = () => watchRise(draft, moment, brief, before || closed ? null : boxes[0].typed, whole);
  /** While a number is typed, what it would mean is said before it is added. */
  function tell() {
    const watch = live();
    said.className = `watch ${watch.level}`;
    said.setAttribute("role", watch.level === "stop" ? "alert" : "status");
    said.textContent = watch.sentence;
    const where = reaches(boxes[0].typed, zeroOf(draft, moment), brief);
    acts.replaceChildren(...actsFor(context, { watch: now, live: watch, where, boxes, place, before }));
    numbers?.rename();
    redraw();
  }
  const phaseNow = () => {
    if (before) return draft.ui.phase ?? before.phase;
    if (vented) return "vent";
    return reaches(boxes[0].typed, zeroOf(draft, moment), brief) === "within" ? "setting" : "rise";
  };
  const numbers = pad(context, boxes, {
    entered: () => add(context, boxes, phaseNow(), place),
    face: () => FACES[before ? "correct" : phaseNow()](brief),
    moved: (box) => { whole = box.name === "travel"; tell(); },
    changed: tell,
  });
  tell();
  // With the setting reached or the maximum passed, the keys come back only where they are asked for.
  const resting = !before && (now.level === "stop" || (now.level === "reached" && !draft.ui.another));
  const zero = zeroOf(draft, moment);
  return {
    entry: resting ? null : numbers,
    nodes: [
      h("div", { class: "bench wide" },
        h("section", { class: "see", "aria-label": "Stroke" },
          said,
          h("div", { class: `target soft${brief.tools.meter ? "" : " drawn"}` },
            h("span", { text: `Setting ${onTheMeter(brief.spec.setting, brief.marks.setting, brief, zero)} · maximum ${shown(brief.spec.stimulus_max, brief.stimulusUnit, words)}` }),
            toList(readings)),
          host),
        h("section", { class: "act" },
          before && h("h2", { text: `Correct reading ${place + 1}` }),
          resting ? rest(context, now) : [before && phases(context, before), numbers.element, acts])),
    ],
    more: [list(context, readings), cannot(context, readings, now)],
    foot: nextButton("Next", () => onward(context, readings), { waits: now.level !== "reached" }),
    drawn: redraw,
  };
}

const FACES = {
  correct: () => "Keep the correction",
  vent: (brief) => (brief.electric ? "At zero: start again" : "Vented: start again"),
  setting: () => "Add at the setting",
  rise: () => "Add reading",
};

/** The second way of taking what is typed, beside the key that enters. */
function actsFor(context, { live, where, boxes, place, before, watch }) {
  if (before) return [button("Leave it as it was", () => leave(context))];
  if (watch.level === "reached") return [button("No other rise", () => { context.draft.ui.another = false; forget(context, "stimulus", "travel"); context.again(""); })];
  if (watch.level === "again") return [];
  if (live.level === "stop") return [button("The actuator did see it: keep it and stop", () => sawIt(context, boxes), { class: "grave" })];
  return where === "within" ? [button("Add as a rising reading", () => add(context, boxes, "rise", place))] : [];
}

function rest(context, now) {
  if (now.level === "stop") {
    return [stopNotice(now.sentence, () => stopHere(context)), h("p", { class: "soft", text: "Was it a slip? Correct or delete it in the list." })];
  }
  const another = () => { context.draft.ui.another = true; context.again(""); };
  return [
    h("p", { class: "answer", text: "Done: go on to the next step." }),
    button("Make another rise, for repeatability", another),
  ];
}

function phases(context, before) {
  const { draft, brief } = context;
  const chosen = draft.ui.phase ?? before.phase;
  const offered = [["rise", "Rising"], ["setting", "At the setting"], ["vent", brief.electric ? "At zero" : "Vented"]];
  return h("fieldset", { class: "tiles inline" }, h("legend", { class: "visually-hidden", text: "What it is" }),
    offered.map(([value, label]) => h("label", {}, h("input", { type: "radio", name: "phase", value, checked: value === chosen, onchange: () => { draft.ui.phase = value; context.again(""); } }), h("span", { text: label }))));
}

/** The list stands below the keys; this leads to it. */
function toList(readings) {
  if (!readings.length) return null;
  const look = () => {
    const below = document.querySelector("details.readings");
    below.open = true;
    below.scrollIntoView({ block: "start" });
    below.querySelector("summary").focus({ preventScroll: true });
  };
  return button(`${readings.length} reading${readings.length > 1 ? "s" : ""}`, look, { class: "to-list", "aria-label": "Show the readings" });
}

function list(context, readings) {
  if (!readings.length) return null;
  return h("details", { class: "readings", open: context.draft.ui.listed ? true : null, ontoggle: (event) => { context.draft.ui.listed = event.target.open; } },
    h("summary", { text: `Readings (${readings.length}), the latest first` }),
    readingList(context, PHASES, { change: (i) => correct(context, i), drop: (i) => drop(context, i) }));
}

/** The stroke can be ended without a reading at the setting; its verdict is void then. */
function cannot(context, readings, now) {
  if (!readings.length || now.level === "reached") return null;
  return h("details", { class: "discard" },
    h("summary", { text: "The setting cannot be reached" }),
    h("p", { text: "The stroke ends here. Its verdict will be void, and it says what to repeat." }),
    button("End the stroke here", () => stopHere(context)));
}

function stopHere(context) {
  giveUp(context.draft, context.moment);
  context.go(slugOf(context.moment, "verdict"));
}

/**
 * The actuator saw what is typed, above its maximum: kept as it was, and the stroke ends. Where nobody read the dial it
 * is a cycle of which the highest stimulus alone is known.
 */
function sawIt(context, boxes) {
  const { draft, moment } = context;
  const dialRead = Boolean(boxes[1].typed.text.trim());
  const phase = dialRead ? "rise" : "exercise";
  if (!settle(context, wrongPair(context, dialRead ? boxes : boxes.slice(0, 1), phase))) return context.again("");
  draft[moment].readings.push(readingOf(phase, boxes));
  forget(context, "stimulus", "travel");
  return stopHere(context);
}

function add(context, boxes, phase, place) {
  const { draft, moment, step } = context;
  if (!settle(context, wrongPair(context, boxes, phase))) return context.again("");
  const readings = [...readingsOf(draft, moment, ...PHASES)];
  const reading = readingOf(phase, boxes);
  if (place === null) readings.push(reading);
  else readings[place] = reading;
  keepThem(context, readings);
  reopen(draft, step.slug);
  return context.again("stimulus");
}

function keepThem(context, readings) {
  const { draft, moment } = context;
  replaceSection(draft, moment, PHASES, readings);
  forget(context, "stimulus", "travel");
  Object.assign(draft.ui, { place: null, phase: null, another: false });
}

function correct(context, i) {
  forget(context, "stimulus", "travel");
  Object.assign(context.draft.ui, { place: i, phase: null });
  context.again("");
}

function leave(context) {
  forget(context, "stimulus", "travel");
  Object.assign(context.draft.ui, { place: null, phase: null });
  context.again("");
}

function drop(context, i) {
  const readings = readingsOf(context.draft, context.moment, ...PHASES).filter((_, at) => at !== i);
  keepThem(context, readings);
  reopen(context.draft, context.step.slug);
  context.again("");
}

function onward(context, readings) {
  if (readings.at(-1)?.phase === "setting") return context.next();
  settle(context, { stimulus: "There is no reading at the setting since the last vent. Rise to the setting, then add the reading there." });
  return context.again("");
}
