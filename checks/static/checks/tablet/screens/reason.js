/** Why the check is made, and what the truck's meters read. */

import { dayText } from "../app-words.js";
import { button, h } from "../dom.js";
import { inUnit, kept, parse } from "../numbers.js";
import { choices, nextButton, pad, settle, typing, wrongAt, wrongNumber } from "./parts.js";

const COMPLAINT = "complaint";

export function show(context) {
  const { draft, brief, words, act } = context;
  const { unit, person } = brief;
  const fitted = Boolean(unit.number);
  const kept_ = (name, first) => () => ({ text: draft[name]?.text ?? "", unit: draft[name]?.unit ?? first });
  const boxes = [
    { name: "odometer", label: "Odometer", typed: typing(context, "odometer", kept_("odometer", person.distance_unit)), units: ["km", "mi"], decimal: true, wrong: wrongAt(context, "odometer") },
    { name: "engine_hours", label: "Engine hours", typed: typing(context, "engine_hours", kept_("engine_hours", "h")), units: ["h"], decimal: true, wrong: wrongAt(context, "engine_hours") },
  ];
  const onward = () => take(context, boxes, fitted);
  const numbers = fitted ? pad(context, boxes, { entered: onward, face: () => "Done" }) : null;
  const chosen = draft.ui.reason ?? draft.reason;
  return {
    entry: numbers,
    readFirst: true,
    nodes: [
      h("div", { class: "bench" },
        h("section", { class: "say" },
          h("p", { class: "lead", text: words.leads.reason }),
          choices("reason", "Reason", words.reasons, chosen, (value) => { draft.ui.reason = value; context.again(""); }, { wrong: wrongAt(context, "reason"), short: true }),
          chosen === COMPLAINT && complaints(context)),
        h("section", { class: "act" },
          fitted ? [h("h2", { text: `Meter of truck ${unit.number}` }), lastMeter(brief), numbers.element] : h("p", { class: "soft", text: "This turbocharger sits in no truck, so no meter is asked for." }))),
    ],
    more: [discard(context, act)],
    foot: nextButton("Next", onward),
  };
}

function complaints(context) {
  const { draft, brief } = context;
  const open = brief.unit.complaints ?? [];
  if (!open.length) return null;
  const offered = open.map((one) => [String(one.pk), `${one.kind}, ${dayText(one.raised_on)}${one.text ? `: ${one.text.slice(0, 60)}` : ""}`]);
  return choices("complaint", "Complaint that this check answers", offered, String(draft.ui.complaint ?? draft.complaint ?? ""),
    (value) => { draft.ui.complaint = Number(value); context.keep(); }, { wrong: wrongAt(context, "complaint") });
}

function lastMeter({ unit, person, words }) {
  const { meter } = unit;
  if (!meter) return null;
  const odometer = meter.odometer_km === null ? "" : `${Math.round(inUnit(meter.odometer_km, person.distance_unit, words)).toLocaleString("en")} ${person.distance_unit}`;
  const hours = meter.engine_hours === null ? "" : `${meter.engine_hours.toLocaleString("en")} h`;
  return h("p", { class: "soft", text: `Last read ${dayText(meter.read_at)}: ${[odometer, hours].filter(Boolean).join(", ")}.` });
}

function take(context, boxes, fitted) {
  const { draft, words, brief } = context;
  const [odometer, hours] = boxes;
  const reason = draft.ui.reason ?? draft.reason;
  const wrong = { reason: reason ? "" : "Say why the check is made. Choose one of the reasons." };
  const given = fitted ? boxes.filter((box) => box.typed.text.trim()) : [];
  for (const box of given) wrong[box.name] = wrongNumber(box.typed.text, box.label, words) || belowZero(box) || once(draft, box, backwards(box, brief));
  if (fitted && !given.length) wrong.odometer = "No meter reading. Enter the odometer, the engine hours, or both.";
  const open = brief.unit.complaints ?? [];
  const complaint = reason === COMPLAINT ? (draft.ui.complaint ?? draft.complaint ?? null) : null;
  if (reason === COMPLAINT && open.length && !complaint) wrong.complaint = "Say which complaint this check answers. Choose one of the open ones.";
  if (!settle(context, wrong)) return context.again(given[0]?.name ?? "odometer");
  const typed = (box) => (fitted && box.typed.text.trim() ? { text: box.typed.text.trim(), unit: box.typed.unit } : null);
  Object.assign(draft, { reason, complaint, odometer: typed(odometer), engine_hours: typed(hours) });
  return context.next();
}

function belowZero(box) {
  return parse(box.typed.text) < 0 ? `${box.label} cannot be below zero.` : "";
}

/** Told once for a number; whoever presses Next again knows better. */
function once(draft, box, sentence) {
  const told = draft.ui.told_backwards ?? {};
  draft.ui.told_backwards = { ...told, [box.name]: sentence && box.typed.text };
  return told[box.name] === box.typed.text ? "" : sentence;
}

/** A meter that runs backwards is told here; the server has the last word, since a meter may have been replaced. */
function backwards(box, { unit, words, person }) {
  const value = kept(box.typed, words);
  const last = unit.meter?.[box.name === "odometer" ? "odometer_km" : "engine_hours"];
  if (last === null || last === undefined || value >= last) return "";
  const shown = box.name === "odometer" ? `${Math.round(inUnit(last, person.distance_unit, words)).toLocaleString("en")} ${person.distance_unit}` : `${last.toLocaleString("en")} h`;
  return `This is less than the ${shown} read on ${dayText(unit.meter.read_at)}. Check the number and its unit. If the meter was replaced, press Next once more.`;
}

function discard({ draft }, act) {
  return h("details", { class: "discard" },
    h("summary", { text: "Discard this check" }),
    h("p", { text: "Everything entered for it is thrown away." }),
    button("Discard it", () => act.discard(draft)));
}
