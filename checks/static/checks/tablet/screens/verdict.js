/** The provisional verdict on the stroke just made, and what is done about it. */

import { button, h } from "../dom.js";
import { judge, wayToTurn } from "../judge.js";
import { AS_FOUND, AS_LEFT, beginAnew, pass } from "../sequence.js";
import { stateWord, windowStrip } from "../strip.js";
import { choices, nextButton, settle, slugOf, wrongAt } from "./parts.js";

export function show(context) {
  const { draft, brief, words, moment } = context;
  const found = judge(draft, moment, brief);
  const left = moment === AS_LEFT;
  const doubtful = ["void", "undecided"].includes(found.state) && !found.unsafe;
  return {
    nodes: [
      told(context, moment),
      h("p", { class: "then" }, h("strong", { text: thenOf(found, moment, brief) })),
      !left && choices("decision", "What do you do?", decisions(found), draft.ui.decision, (value) => decide(context, value), { wrong: wrongAt(context, "decision") }),
      h("div", { class: "acts" },
        left && found.state !== "inside" && button("Turn the rod again", () => context.go("adjust")),
        doubtful && button("Back to the rise", () => context.go(slugOf(moment, "rise")))),
      doubtful && h("details", { class: "discard" },
        h("summary", { text: "Make the whole stroke again" }),
        h("p", { text: "The readings of this stroke are thrown away, and it begins at its zero." }),
        button("Begin the stroke again", () => { beginAnew(draft, moment); context.go(slugOf(moment, "zero")); })),
    ],
    foot: nextButton("Next", () => take(context, found)),
  };
}

/** State, strip, sentence and reasons; `both` strokes where the rod was turned. */
export function told(context, moment) {
  const { draft, brief, words } = context;
  const moments = moment === AS_LEFT ? [AS_FOUND, AS_LEFT] : [AS_FOUND];
  const judged = moments.map((one) => ({ moment: one, verdict: judge(draft, one, brief) }));
  const { verdict } = judged.at(-1);
  return h("section", { class: "told" },
    h("p", { class: "big-state" }, verdict.state ? [stateWord(verdict.state, words), " ", h("span", { class: "provisional", text: "provisional" })] : h("span", { class: "provisional", text: "no verdict yet" })),
    h("div", { class: "strip-large" }, windowStrip(judged, brief)),
    h("p", { class: "lead", text: verdict.sentence }),
    verdict.unsafe && h("div", { class: "notice wrong" }, h("p", {}, h("strong", { text: words.unsafe }))),
    verdict.voids.length > 0 && h("ul", { class: "voids" }, verdict.voids.map((one) => h("li", { text: one }))),
    h("p", { class: "soft", text: words.provisional.note }),
    // Opens beside the check, which stays as it is; without a network there is nothing to open.
    navigator.onLine && h("p", { class: "soft" }, "How this is computed: ", beside("/methods/#verdict", "verdict"), ", ", beside("/methods/#adjustment", "adjustment advice")));
}

function beside(href, text) {
  return h("a", { href, text, target: "_blank", rel: "noopener" });
}

function decisions(found) {
  const leave = ["leave", found.state === "void" ? "Leave the setting alone and sign it as void" : "Leave the setting alone and sign"];
  return found.state === "void" ? [leave] : [leave, ["adjust", "Turn the rod, then make the stroke again"]];
}

function decide(context, value) {
  context.draft.ui.decision = value;
  context.again();
}

function thenOf(found, moment, brief) {
  const { words } = brief;
  if (found.state === "void") return found.unsafe ? words.unsafe_then : words.void_then;
  if (moment === AS_FOUND && found.state.startsWith("outside")) return turnText(found, brief);
  return words.next[`${found.state} ${moment}`] ?? words.provisional.wait;
}

/** Half turns where the sheet has them for such a reading, else the way alone. */
export function turnText(found, brief) {
  const { words, set } = brief;
  const step = (set?.marks?.turns ?? []).find(([from, to]) => found.travel >= from && found.travel <= to);
  const way = wayToTurn(found.state, brief);
  if (step) {
    const n = Math.abs(step[2]);
    return `Advised: ${n} half turn${n === 1 ? "" : "s"} ${step[2] > 0 ? "longer" : "shorter"}. ${words.provisional.repeat}`;
  }
  return `Make the rod ${way}. ${words.provisional.advice}`;
}

function take(context, found) {
  const { draft, moment, step } = context;
  if (moment === AS_LEFT) {
    pass(draft, step.slug);
    return context.next();
  }
  const { decision } = draft.ui;
  let wrong = ["leave", "adjust"].includes(decision) ? "" : "Say whether you leave the setting alone or turn the rod.";
  if (decision === "adjust" && found.state === "void") wrong = "A void reading does not say which way to turn. Repeat the stroke, or leave the setting alone and sign it as void.";
  if (decision === "leave" && draft.half_turns) wrong = `Half turns are entered already (${draft.half_turns > 0 ? "+" : ""}${draft.half_turns}). If the rod was turned, go on with the as-left stroke. If it was not, take the half turns out first.`;
  if (!settle(context, { decision: wrong })) return context.again();
  return context.next();
}
