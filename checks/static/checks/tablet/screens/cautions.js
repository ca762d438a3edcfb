/** The cautions in full, read once. */

import { h, say } from "../dom.js";
import { shown } from "../numbers.js";
import { nextButton, settle, tick, wrongAt } from "./parts.js";

export function show(context) {
  const { draft, brief, words } = context;
  const maximum = shown(brief.spec.stimulus_max, brief.stimulusUnit, words);
  const read = Boolean(draft.ui.read || draft.cautions_read_at);
  return {
    heading: "Cautions, once, in full",
    nodes: [
      h("ol", { class: "cautions" }, words.cautions[brief.stimulus].map((line) => h("li", { text: say(line, { maximum }) }))),
      tick("f-read", "I have read these and will keep to them.", read, (now) => { draft.ui.read = now; context.keep(); }, wrongAt(context, "read")),
    ],
    foot: nextButton("I have read them", () => {
      const agreed = draft.ui.read || draft.cautions_read_at;
      if (!settle(context, { read: agreed ? "" : "The cautions are not acknowledged. Read them, then tick the box." })) return context.again();
      draft.cautions_read_at ??= now();
      return context.next();
    }),
  };
}

/** This moment with the offset of this device. */
export function now() {
  const at = new Date();
  const minutes = -at.getTimezoneOffset();
  const two = (n) => String(Math.abs(n)).padStart(2, "0");
  const local = new Date(at.getTime() + minutes * 60000).toISOString().slice(0, 23);
  return `${local}${minutes < 0 ? "-" : "+"}${two(Math.trunc(minutes / 60))}:${two(minutes % 60)}`;
}
