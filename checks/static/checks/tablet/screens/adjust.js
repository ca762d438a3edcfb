/** The rod is turned: which way, the cautions, and the half turns done. */

import { button, h, say } from "../dom.js";
import { judge } from "../judge.js";
import { parse, shown } from "../numbers.js";
import { AS_FOUND, AS_LEFT, beginAnew, readingsOf } from "../sequence.js";
import { choices, forget, nextButton, pad, settle, typing, wrongAt } from "./parts.js";
import { turnText } from "./verdict.js";

export function show(context) {
  const { draft, brief, words } = context;
  const found = judge(draft, AS_FOUND, brief);
  const done = draft.half_turns;
  const box = {
    name: "half_turns", label: "Half turns from where it stood as found", units: ["half turns"], wrong: wrongAt(context, "half_turns"),
    typed: typing(context, "half_turns", () => ({ text: done ? String(Math.abs(done)) : "", unit: "half turns" })),
  };
  const onward = () => take(context, box);
  const numbers = pad(context, [box], { entered: onward, face: () => "Done" });
  const way = draft.ui.way ?? (done ? (done > 0 ? "longer" : "shorter") : null);
  const effect = words.effect[brief.spec.adjustment_sign > 0 ? "more" : "less"];
  const left = readingsOf(draft, AS_LEFT).length > 0;
  return {
    entry: numbers,
    readFirst: true,
    nodes: [
      h("div", { class: "bench" },
        h("section", { class: "say" },
          h("p", { class: "lead", text: found.state.startsWith("outside") ? turnText(found, brief) : words.provisional.advice }),
          h("p", { text: `${say(words.leads.adjust, { nominal: shown(brief.spec.nominal_mm, brief.lengthUnit, words) })} ${effect}` }),
          h("ol", { class: "cautions" }, words.before_turning.map((line) => h("li", { text: line })))),
        h("section", { class: "act" },
          choices("way", "The rod was made", [["longer", "longer"], ["shorter", "shorter"]], way, (value) => { draft.ui.way = value; context.keep(); }, { wrong: wrongAt(context, "way"), short: true }),
          numbers.element,
          left && h("p", { class: "soft", text: "Another number than before clears the as-left stroke: it was made with the rod as it stood then." }))),
    ],
    more: [
      h("details", { class: "discard" },
        h("summary", { text: "The rod was not turned after all" }),
        h("p", { text: words.leads["not-turned"] }),
        button("Take it out", () => notTurned(context))),
    ],
    foot: nextButton("Turned: the whole stroke again", onward),
  };
}

function notTurned(context) {
  const { draft } = context;
  beginAnew(draft, AS_LEFT);
  Object.assign(draft, { half_turns: null, as_left: null });
  Object.assign(draft.ui, { decision: null, way: null });
  forget(context, "half_turns");
  context.go("verdict");
}

function take(context, box) {
  const { draft, words } = context;
  const number = parse(box.typed.text);
  const most = words.half_turns_most;
  const way = draft.ui.way ?? (draft.half_turns ? (draft.half_turns > 0 ? "longer" : "shorter") : null);
  const whole = Number.isInteger(number) && number >= 1 && number <= most;
  const wrong = {
    half_turns: whole ? "" : `Half turns are a whole number from 1 to ${most}; which way is said above.`,
    way: way ? "" : "Say whether the rod was made longer or shorter.",
  };
  if (!settle(context, wrong)) return context.again("");
  const turned = number * (way === "longer" ? 1 : -1);
  if (turned !== draft.half_turns && readingsOf(draft, AS_LEFT).length) beginAnew(draft, AS_LEFT);
  draft.half_turns = turned;
  forget(context, "half_turns");
  return context.next();
}
