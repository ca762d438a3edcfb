/** Both instruments vented: zero before exercise, and back at zero after it. */

import { button, h, say } from "../dom.js";
import { AS_FOUND, readingsOf, replaceSection } from "../sequence.js";
import { farFromZero, notBack, zeroOf } from "../warn.js";
import { now } from "./cautions.js";
import { forget, nextButton, pad, readingOf, settle, slugOf, stimulusBox, travelBox, wrongPair } from "./parts.js";

export function show(context) {
  const { draft, brief, words, step, moment } = context;
  const phase = step.kind.replace("-", "_");
  const before = readingsOf(draft, moment, phase).at(-1) ?? null;
  const boxes = [stimulusBox(context, { signed: true, kept: before }), travelBox(context, { signed: true, kept: before })];
  const onward = () => take(context, boxes, phase, before);
  const numbers = pad(context, boxes, { entered: onward, face: () => "Keep" });
  const bad = phase === "zero_return" && before ? notBack([before], zeroOf(draft, moment), brief) : [];
  const far = phase === "zero" && before ? farFromZero(before.stimulus, brief) : "";
  return {
    entry: numbers,
    nodes: h("div", { class: "bench" },
      h("section", { class: "say" }, phase === "zero" ? orders(context) : h("p", { class: "lead", text: words.leads[`zero-return-${brief.stimulus}`] }), bad.length > 0 && notice(context, bad),
        far && h("p", { class: "notice caution", role: "alert", text: far })),
      h("section", { class: "act" }, numbers.element)),
    foot: nextButton("Next", onward),
  };
}

function orders({ brief, words }) {
  const instrument = brief.tools.meter ? "the meter" : "the gauge";
  return h("ol", { class: "do" }, words.zero[brief.stimulus].map((line) => h("li", { text: say(line, { instrument }) })));
}

function notice(context, bad) {
  const { words, moment } = context;
  return h("div", { class: "notice caution", role: "alert" },
    bad.map((sentence) => h("p", {}, h("strong", { text: sentence }))),
    h("p", { text: `${words.not_back.then} To go on all the same, press Next once more.` }),
    button("Zero again", () => context.go(slugOf(moment, "zero"))));
}

/** A zero or a return that is not one is shown where it was entered; sent again unchanged, the technician goes on knowing it. */
function take(context, boxes, phase, before) {
  const { draft, brief, moment } = context;
  if (!settle(context, wrongPair(context, boxes, phase))) return context.again("");
  const reading = readingOf(phase, boxes);
  replaceSection(draft, moment, [phase], [reading]);
  if (phase === "zero" && moment === AS_FOUND) draft.made_at ??= now();
  const bad = phase === "zero" ? farFromZero(reading.stimulus, brief) : notBack([reading], zeroOf(draft, moment), brief).length > 0;
  if (bad && JSON.stringify(before) !== JSON.stringify(reading)) return context.again("");
  forget(context, "stimulus", "travel");
  return context.next();
}
