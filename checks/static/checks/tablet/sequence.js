/** The order of the work, as the sheet lists it: which steps there are, which are done, which one is open. */

export const AS_FOUND = "as_found";
export const AS_LEFT = "as_left";
const GIVEN_UP = ["exercise", "zero-return", "rise", "fall"];
const SECTIONS = { zero: 0, exercise: 1, zero_return: 2, rise: 3, setting: 3, vent: 3, fall: 4, hold: 4 };
const KIND_OF_PHASE = { zero_return: "zero-return", setting: "rise", vent: "rise", hold: "fall" };
const STEP_OF_FIELD = {
  reason: "reason",
  complaint: "reason",
  odometer: "reason",
  engine_hours: "reason",
  instruments: "instruments",
  alignment: "instruments",
  cautions_read_at: "cautions",
  made_at: "zero",
  half_turns: "adjust",
  as_left: "adjust",
  note: "sign",
};
const SUBMITTED = [
  "key", "turbocharger", "specification", "reason", "complaint", "made_at", "odometer", "engine_hours", "instruments",
  "alignment", "cautions_read_at", "as_found", "half_turns", "as_left",
];

/**
 * A check under way: the submission, and under `ui` what only the screens need.
 * @typedef {{key: string, turbocharger: number, specification: number, ui: Object<string, any>}} Draft
 */

/** The steps of this check: an adjustment adds its own, a specification without exercise leaves that out. */
export function stepsFor(draft, words, cycles) {
  const adjusted = draft.ui.decision === "adjust";
  return words.steps.filter(
    (step) =>
      (adjusted || (step.kind !== "adjust" && step.moment !== AS_LEFT)) &&
      (cycles > 0 || !["exercise", "zero-return"].includes(step.kind)),
  );
}

/** The readings of one stroke in the order made; of `phases` only where some are named. */
export function readingsOf(draft, moment, ...phases) {
  const readings = draft[moment]?.readings ?? [];
  return phases.length ? readings.filter((reading) => phases.includes(reading.phase)) : readings;
}

function isDone(step, draft, cycles) {
  if (draft.ui.passed?.includes(step.slug)) return true;
  const approach = readingsOf(draft, step.moment, "rise", "setting", "vent");
  switch (step.kind) {
    case "reason":
    case "instruments":
      return Boolean(draft[step.kind]);
    case "cautions":
      return Boolean(draft.cautions_read_at);
    case "zero":
    case "zero-return":
      return readingsOf(draft, step.moment, step.kind.replace("-", "_")).length > 0;
    case "exercise":
      return readingsOf(draft, step.moment, "exercise").length >= cycles;
    case "rise":
      return approach.at(-1)?.phase === "setting";
    case "verdict":
      return step.moment === AS_FOUND && ["leave", "adjust"].includes(draft.ui.decision);
    case "adjust":
      return Boolean(draft.half_turns);
    default:
      return false;
  }
}

/** The earliest step that is not done. */
export function firstOpenStep(draft, words, cycles) {
  const steps = stepsFor(draft, words, cycles);
  return steps.find((step) => !isDone(step, draft, cycles)) ?? steps.at(-1);
}

export function neighbour(step, draft, words, cycles, by) {
  const steps = stepsFor(draft, words, cycles);
  return steps[steps.findIndex((one) => one.slug === step.slug) + by] ?? null;
}

export function pass(draft, slug) {
  draft.ui.passed = [...new Set([...(draft.ui.passed ?? []), slug])].sort();
}

/** A step is open again, since something was done in it. */
export function reopen(draft, slug) {
  draft.ui.passed = (draft.ui.passed ?? []).filter((one) => one !== slug);
}

/** The readings of `phases` in one stroke replaced, all in the procedure's order. */
export function replaceSection(draft, moment, phases, readings) {
  const others = readingsOf(draft, moment).filter((reading) => !phases.includes(reading.phase));
  const all = [...others, ...readings];
  draft[moment] = { readings: all.sort((a, b) => SECTIONS[a.phase] - SECTIONS[b.phase]) };
}

/** The rest of one stroke given up, so that its verdict (void) may be looked at. */
export function giveUp(draft, moment) {
  for (const kind of GIVEN_UP) pass(draft, prefix(moment) + kind);
}

/** One stroke emptied, to be made again from its zero. */
export function beginAnew(draft, moment) {
  draft[moment] = moment === AS_LEFT ? null : { readings: [] };
  draft.ui.passed = (draft.ui.passed ?? []).filter((slug) => slug.startsWith("as-left-") !== (moment === AS_LEFT));
  if (moment === AS_FOUND) draft.ui.decision = null;
}

export function prefix(moment) {
  return moment === AS_LEFT ? "as-left-" : "";
}

/** The step on which a field of the submission is entered; empty where it has none. */
export function stepOfField(field, draft) {
  const found = /^(as_found|as_left)\.readings\.(\d+)\./.exec(field);
  if (!found) return STEP_OF_FIELD[field.split(".")[0]] ?? "";
  const phase = readingsOf(draft, found[1])[Number(found[2])]?.phase ?? "rise";
  return prefix(found[1]) + (KIND_OF_PHASE[phase] ?? phase);
}

/** What is signed: the submission without what only the screens need. */
export function payloadOf(draft) {
  const payload = Object.fromEntries(SUBMITTED.map((name) => [name, draft[name] ?? null]));
  if (draft.ui.decision !== "adjust") Object.assign(payload, { half_turns: null, as_left: null });
  return { ...payload, note: (draft.note ?? "").trim(), source: "tablet" };
}

/** Whether the work has got so far that this step may be opened. */
export function isReached(step, draft, words, cycles) {
  const steps = stepsFor(draft, words, cycles).map((one) => one.slug);
  return steps.includes(step.slug) && steps.indexOf(step.slug) <= steps.indexOf(firstOpenStep(draft, words, cycles).slug);
}

