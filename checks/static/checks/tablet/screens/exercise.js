/** The actuator goes through its stroke a few times; the highest stimulus of each cycle is noted, one at a time. */

import { button, h, say } from "../dom.js";
import { shown, typedText } from "../numbers.js";
import { giveUp, readingsOf, replaceSection } from "../sequence.js";
import { onTheMeter, overMaximum, shortExercise, zeroOf } from "../warn.js";
import { forget, nextButton, pad, readingOf, settle, slugOf, stimulusBox, stopNotice, wrongPair } from "./parts.js";

const MOST = 10;

export function show(context) {
  const { draft, brief, words, moment, cycles } = context;
  const done = readingsOf(draft, moment, "exercise");
  const here = draft.ui.cycle ?? Math.min(done.length, MOST - 1);
  const boxes = [stimulusBox(context, { label: `Cycle ${here + 1}, highest`, kept: done[here] })];
  const enough = done.length >= cycles;
  const add = () => take(context, boxes, here);
  const live = h("div", { class: "live" });
  const numbers = pad(context, boxes, {
    entered: () => (enough && !boxes[0].typed.text.trim() ? onward(context, boxes, here) : add()),
    face: () => (enough && !boxes[0].typed.text.trim() ? "Done" : `Keep cycle ${here + 1}`),
    changed: () => tell(context, live, boxes[0]),
  });
  tell(context, live, boxes[0]);
  const maximum = shown(brief.spec.stimulus_max, brief.stimulusUnit, words);
  const short = enough ? shortExercise(draft, moment, brief) : "";
  return {
    entry: numbers,
    nodes: h("div", { class: "bench" },
      h("section", { class: "say" },
        h("p", { class: "lead", text: say(words.leads.exercise, { times: `${cycles} time${cycles === 1 ? "" : "s"}` }) }),
        h("p", { text: say(words.leads["exercise-to"], { setting: onTheMeter(brief.spec.setting, brief.marks.setting, brief, zeroOf(draft, moment)), maximum }) }),
        live,
        short && h("p", { class: "notice caution", role: "alert", text: `${short} ${words.short_then}` }),
        cyclesDone(context, done, here)),
      h("section", { class: "act" }, numbers.element)),
    foot: nextButton("Next", () => onward(context, boxes, here), { waits: !enough }),
  };
}

function cyclesDone(context, done, here) {
  const { draft, cycles } = context;
  const rows = Array.from({ length: Math.max(cycles, done.length) }, (_, i) => i);
  return h("ol", { class: "cycles" }, rows.map((i) =>
    h("li", { class: i === here ? "here" : null }, h("span", { text: `Cycle ${i + 1}` }),
      done[i]
        ? button(typedText(done[i].stimulus), () => { draft.ui.cycle = i; forget(context, "stimulus"); context.again(""); }, { "aria-label": `Cycle ${i + 1}, ${typedText(done[i].stimulus)}: correct it` })
        : h("span", { class: "blank", text: i === here ? "now" : "to come" }))));
}

function tell(context, live, box) {
  const { draft, moment, brief } = context;
  const stop = overMaximum(draft, moment, brief, box.typed);
  live.replaceChildren(...(stop ? [stopNotice(stop.sentence, () => stopHere(context, box))] : []));
}

/** The actuator saw what is typed: it is kept as it was, and the stroke ends. */
function stopHere(context, box) {
  const { draft, moment } = context;
  if (box.typed.text.trim() && settle(context, wrongPair(context, [box], "exercise"))) {
    replaceSection(draft, moment, ["exercise"], [...readingsOf(draft, moment, "exercise"), readingOf("exercise", [box])]);
    forget(context, "stimulus");
  }
  giveUp(draft, moment);
  context.go(slugOf(moment, "verdict"));
}

function take(context, boxes, here) {
  const { draft, moment, cycles } = context;
  if (!settle(context, wrongPair(context, boxes, "exercise"))) return context.again("");
  const done = [...readingsOf(draft, moment, "exercise")];
  done[here] = readingOf("exercise", boxes);
  replaceSection(draft, moment, ["exercise"], done);
  forget(context, "stimulus");
  draft.ui.cycle = null;
  const clean = !overMaximum(draft, moment, context.brief) && !shortExercise(draft, moment, context.brief);
  return done.length >= cycles && clean ? context.next() : context.again("");
}

function onward(context, boxes, here) {
  const { draft, moment, cycles } = context;
  if (boxes[0].typed.text.trim()) return take(context, boxes, here);
  const done = readingsOf(draft, moment, "exercise").length;
  if (done >= cycles) return context.next();
  settle(context, { stimulus: `Cycle ${done + 1} is missing. Make it, and enter its highest value.` });
  return context.again("");
}
