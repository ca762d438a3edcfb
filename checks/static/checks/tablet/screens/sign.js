/** Everything read back once more, a note, and the signature. */

import { h, say } from "../dom.js";
import { judge } from "../judge.js";
import { shown, typedText } from "../numbers.js";
import { AS_FOUND, AS_LEFT, payloadOf, readingsOf } from "../sequence.js";
import { stateWord } from "../strip.js";
import { nextButton, readingList } from "./parts.js";
import { told } from "./verdict.js";

const PHASES = ["zero", "exercise", "zero_return", "rise", "setting", "vent", "fall", "hold"];

export function show(context) {
  const { draft, brief, words, act } = context;
  const adjusted = draft.ui.decision === "adjust";
  const moments = adjusted ? [AS_FOUND, AS_LEFT] : [AS_FOUND];
  const host = h("div", { class: "photos" });
  const note = h("textarea", { id: "f-note", maxlength: 4000, rows: 2, oninput: (event) => { draft.note = event.target.value; context.keep(); } });
  note.value = draft.note ?? "";
  return {
    heading: "Look it over, then sign",
    nodes: [
      adjusted && h("p", { class: "row" },
        moments.map((one) => h("span", { class: "found" }, `${capital(words.moments[one])}: `, state(judge(draft, one, brief), words))),
        h("span", { class: "found" }, "Rod turned: ", h("strong", { text: turned(draft.half_turns) }))),
      h("div", { class: "bench halves" },
        h("section", { class: "say" },
          told(context, moments.at(-1)),
          h("dl", { class: "facts" }, facts(context).map(([name, value]) => [h("dt", { text: name }), h("dd", { text: value })])),
          h("p", { class: "soft", text: say(words.leads.signed, { person: brief.person.name }) }),
          h("p", { class: "soft", text: words.cautions[brief.stimulus][0] })),
        h("section", { class: "say" },
          moments.map((one) => readBack(context, one)),
          h("div", { class: "field" },
            h("label", { for: "f-note" }, "Note ", h("span", { class: "soft", text: "(if there is something to say)" })), note),
          host)),
    ],
    foot: signButton(context),
    drawn: () => act.photos?.(host, draft),
  };
}

/** Signs once, however often it is tapped. */
function signButton(context) {
  const { draft, brief, act } = context;
  const one = nextButton("Sign the check", async () => {
    if (one.disabled) return;
    one.disabled = true;
    try {
      await act.sign(draft, { payload: payloadOf(draft), provisional: provisionalOf(draft, brief) });
    } catch (error) {
      one.disabled = false;
      throw error;
    }
  });
  return one;
}

/** What this tablet said, to be held against the server's verdict. */
function provisionalOf(draft, brief) {
  const moments = draft.ui.decision === "adjust" ? [AS_FOUND, AS_LEFT] : [AS_FOUND];
  return Object.fromEntries(moments.map((moment) => [moment, { state: judge(draft, moment, brief).state }]));
}

function state(found, words) {
  return found.state ? stateWord(found.state, words) : "no verdict yet";
}

function turned(halfTurns) {
  const n = Math.abs(halfTurns ?? 0);
  return n ? `${n} half turn${n === 1 ? "" : "s"} ${halfTurns > 0 ? "longer" : "shorter"}` : "not turned";
}

function facts({ draft, brief, words }) {
  const { spec, tools, lengthUnit: unit } = brief;
  const meters = [draft.odometer, draft.engine_hours].filter(Boolean).map(typedText).join(", ");
  const window = `${shown(spec.lower_mm, unit, words, false)} to ${shown(spec.upper_mm, unit, words)}`;
  const set_up = words.geometries.find(([value]) => value === draft.alignment?.geometry)?.[1] ?? "";
  const angle = draft.alignment?.angle_deg ? `${draft.alignment.angle_deg} degrees` : `within ${draft.alignment?.angle_max_deg} degrees`;
  return [
    ["Reason", capital(words.reasons.find(([value]) => value === draft.reason)?.[1] ?? "")],
    ["Meter", meters || "not in a truck"],
    ["Specification", `revision ${spec.revision}, window ${window}`],
    ["Instruments", Object.values(tools).filter(Boolean).map((tool) => tool.label).join(", ")],
    ["Dial", `${set_up}, ${angle}`],
  ];
}

function readBack(context, moment) {
  const { words, draft } = context;
  const count = readingsOf(draft, moment).length;
  return h("details", { class: "readings", open: true },
    h("summary", { text: `Readings ${words.moments[moment]} (${count}), the latest first` }),
    readingList({ ...context, moment }, PHASES, null));
}

const capital = (text) => (text ? text[0].toUpperCase() + text.slice(1) : "");
