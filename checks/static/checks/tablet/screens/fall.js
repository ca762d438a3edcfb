/** Optional: readings on the way back, and a leak-down hold with its clock. */

import { button, h } from "../dom.js";
import { strokePlot } from "../plot.js";
import { pass, readingsOf, replaceSection } from "../sequence.js";
import { overMaximum } from "../warn.js";
import { forget, nextButton, pad, readingList, readingOf, settle, slugOf, stimulusBox, stopNotice, travelBox, typing, wrongAt, wrongNumber, wrongPair } from "./parts.js";
import { giveUp } from "../sequence.js";

const PHASES = ["fall", "hold"];
const LONGEST_S = 3600;

export function show(context) {
  const { draft, brief, words, moment } = context;
  const readings = readingsOf(draft, moment, ...PHASES);
  const place = draft.ui.place ?? null;
  const before = place === null ? null : readings[place];
  const phase = brief.electric ? "fall" : (before?.phase ?? draft.ui.fall_phase ?? "fall");
  const holding = phase === "hold";
  const boxes = [stimulusBox(context, { kept: before }), { ...travelBox(context, { kept: before }), optional: holding }];
  if (holding) boxes.push(secondsBox(context, before));
  const host = h("div", { class: "picture" });
  const redraw = strokePlot(host, () => ({ draft, moment, brief, typed: boxes[0].typed }));
  const enter = () => add(context, boxes, phase, place);
  const clock = holding && !before ? holdClock(context, boxes, () => numbers) : null;
  const numbers = pad(context, boxes, {
    entered: enter, face: () => (before ? "Keep the correction" : "Add reading"),
    changed: (box) => { clock?.freeze(box); redraw(); },
  });
  const stop = overMaximum(draft, moment, brief);
  return {
    entry: numbers,
    readFirst: true,
    nodes: [
      !holding && h("p", { class: "lead", text: words.leads[`fall-${brief.stimulus}`] }),
      h("div", { class: "bench wide" },
        h("section", { class: "see", "aria-label": "Stroke" }, stop && stopNotice(stop.sentence, () => { giveUp(draft, moment); context.go(slugOf(moment, "verdict")); }), host),
        h("section", { class: "act" },
          before && h("h2", { text: `Correct reading ${place + 1}` }),
          !brief.electric && !before && which(context, phase),
          clock?.element,
          numbers.element,
          before && h("div", { class: "acts" }, button("Leave it as it was", () => { clear(context); context.again(""); })))),
    ],
    more: [
      readings.length > 0 && h("section", { class: "readings" }, h("h2", { text: "Readings, the latest first" }),
        readingList(context, PHASES, { change: (i) => { clear(context); draft.ui.place = i; context.again(""); }, drop: (i) => drop(context, i) })),
    ],
    foot: nextButton("To the verdict", () => { pass(draft, context.step.slug); context.next(); }),
    drawn: () => { redraw(); clock?.run(); },
  };
}

function which(context, phase) {
  const { draft } = context;
  const offered = [["fall", "Falling"], ["hold", "Hold, supply closed"]];
  return h("fieldset", { class: "tiles inline" }, h("legend", { class: "visually-hidden", text: "What it is" }),
    offered.map(([value, label]) => h("label", {}, h("input", { type: "radio", name: "phase", value, checked: value === phase, onchange: () => { draft.ui.fall_phase = value; clear(context); context.again(""); } }), h("span", { text: label }))));
}

function secondsBox(context, before) {
  return {
    name: "seconds", label: "Closed for", units: ["s"], wrong: wrongAt(context, "seconds"), decimal: true,
    typed: typing(context, "seconds", () => ({ text: before?.seconds ?? "", unit: "s" })),
  };
}

/** Runs by the device's clock, so that a reload or a sleeping tablet takes nothing from it. */
function holdClock(context, boxes, numbers) {
  const { draft, moment } = context;
  const seconds = boxes.at(-1);
  const began = () => draft.ui.hold?.[moment] ?? null;
  const face = h("p", { class: "clock", role: "timer" });
  const elapsed = () => Math.max(0, Math.floor((Date.now() - began()) / 1000));
  const tick = () => {
    if (!face.isConnected) return;
    const now = elapsed();
    face.textContent = `${Math.floor(now / 60)}:${String(now % 60).padStart(2, "0")}`;
    setTimeout(tick, 250);
  };
  const start = () => { draft.ui.hold = { ...draft.ui.hold, [moment]: Date.now() }; forget(context, "seconds"); context.again("stimulus"); };
  const acts = began()
    ? [button("Start the clock anew", start)]
    : [button("Supply closed: start the clock", start, { class: "primary" })];
  return {
    element: h("div", { class: "hold" }, began() ? face : h("p", { class: "soft", text: "Close the supply, then start the clock." }), acts),
    /** The first key of a pressure is the moment at which it was read. */
    freeze(box) {
      if (box.name !== "stimulus" || !began()) return;
      if (!box.typed.text) numbers().write(seconds, "");
      else if (!seconds.typed.text) numbers().write(seconds, String(elapsed()));
      context.keep();
    },
    run: () => began() && tick(),
  };
}

function clear(context) {
  forget(context, "stimulus", "travel", "seconds");
  context.draft.ui.place = null;
}

function add(context, boxes, phase, place) {
  const { draft, moment, words } = context;
  const wrong = wrongPair(context, boxes.slice(0, 2), phase);
  const seconds = boxes[2]?.typed.text.trim() ?? null;
  if (phase === "hold") {
    wrong.seconds = wrongNumber(seconds, "The time since the supply was closed", words);
    if (!wrong.seconds && !(Number(seconds.replace(",", ".")) >= 0 && Number(seconds.replace(",", ".")) <= LONGEST_S)) wrong.seconds = `A hold is read within ${LONGEST_S} seconds. Check the number.`;
  }
  if (!settle(context, wrong)) return context.again("");
  const readings = [...readingsOf(draft, moment, ...PHASES)];
  const reading = readingOf(phase, boxes.slice(0, 2), phase === "hold" ? seconds : null);
  if (place === null) readings.push(reading);
  else readings[place] = reading;
  replaceSection(draft, moment, PHASES, readings);
  clear(context);
  return context.again("stimulus");
}

function drop(context, i) {
  const { draft, moment } = context;
  replaceSection(draft, moment, PHASES, readingsOf(draft, moment, ...PHASES).filter((_, at) => at !== i));
  clear(context);
  context.again("");
}
