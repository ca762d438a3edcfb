/** The provisional verdict: a reading compared with the limits that the sheet brought, nothing computed anew. */

import { say } from "./dom.js";
import { shown } from "./numbers.js";
import { readingsOf } from "./sequence.js";
import { approachUnderWay, largestDrop, net, netTravel, notBack, passedMaximum, shortExercise, zeroOf } from "./warn.js";

// The only set-up of the dial for which limits travel with the sheet.
const ANGLE_MAX_DEG = 5;

/** @typedef {{state: string, sentence: string, voids: string[], unsafe: boolean, travel: number|null, provisional: boolean}} Verdict */

/**
 * The state that limits give a dial indication above its zero, mm; null where there are none.
 *
 * @param {number} travel
 * @param {{inside_from: number|null, inside_to: number|null, outside_below: number, outside_above: number, away_mm: number}} limits
 * @param {boolean} away whether the reading was made elsewhere in the capture band than at the setting: what that may
 *   come to is then granted to neither side
 */
export function stateOf(travel, limits, away = false) {
  const granted = away ? limits.away_mm : 0;
  if (limits.inside_from !== null && travel >= limits.inside_from + granted && travel <= limits.inside_to - granted) {
    return "inside";
  }
  if (travel <= limits.outside_below - granted) return "outside_low";
  if (travel >= limits.outside_above + granted) return "outside_high";
  return "undecided";
}

/** @returns {Verdict} on one stroke, by the sheet alone */
export function judge(draft, moment, brief) {
  const zero = zeroOf(draft, moment);
  const last = approachUnderWay(draft, moment).findLast((reading) => reading.phase === "setting") ?? null;
  const travel = last ? netTravel(last.travel, zero, brief) : null;
  const found = voidsOf(draft, moment, brief);
  if (found.voids.length) {
    return { state: "void", sentence: brief.words.no_verdict, travel, ...found, provisional: true };
  }
  const limits = limitsFor(draft, brief);
  if (!limits || travel === null) {
    return { state: "", sentence: unjudged(brief), travel, ...found, provisional: true };
  }
  const states = [last, ...earlierReadings(draft, moment, brief)].map((one) => {
    const away = Math.abs(net(one.stimulus, zero, brief) - brief.marks.setting) > brief.marks.fall_most;
    return stateOf(netTravel(one.travel, zero, brief), limits, away);
  });
  // The server takes the mean of all sound rises; where they do not agree there is nothing to compare.
  const state = states.every((one) => one === states[0]) ? states[0] : "undecided";
  return { state, sentence: sentenceOf(state, travel, limits, brief), travel, limits, ...found, provisional: true };
}

/** Readings at the setting of earlier rises that broke no rule: they count as well. */
function earlierReadings(draft, moment, brief) {
  const { low, high, fall_most: most } = brief.marks;
  const zero = zeroOf(draft, moment);
  const rises = [[]];
  for (const reading of readingsOf(draft, moment, "rise", "setting", "vent")) {
    if (reading.phase === "vent") rises.push([]);
    else rises.at(-1).push(reading);
  }
  return rises.filter((rise) => rise.length).slice(0, -1).flatMap((rise) => {
    const reading = rise.findLast((one) => one.phase === "setting");
    const points = rise.slice(0, rise.indexOf(reading) + 1).map((one) => net(one.stimulus, zero, brief));
    const sound = reading && points.at(-1) >= low && Math.max(...points) <= high && largestDrop(points) <= most;
    return sound ? [reading] : [];
  });
}

/** Limits for the dial's set-up; null where the sheet has none for it. */
function limitsFor(draft, brief) {
  const { geometry, angle_deg: angle, angle_max_deg: most } = draft.alignment ?? {};
  const usual = !angle && Number(most) === ANGLE_MAX_DEG;
  return (usual && brief.marks?.limits?.[geometry]) || null;
}

function unjudged(brief) {
  const { provisional } = brief.words;
  return say(provisional.none, { why: provisional[brief.known ? "set-up" : "no-marks"] });
}

function sentenceOf(state, travel, limits, brief) {
  const { words, lengthUnit: unit, spec } = brief;
  const open = limits.inside_from === null;
  const range = open ? "" : `${shown(limits.inside_from, unit, words, false)} to ${shown(limits.inside_to, unit, words)}`;
  const limit = { outside_low: spec.lower_mm, outside_high: spec.upper_mm }[state];
  return say(words.provisional[state === "undecided" && open ? "undecided-unproven" : state], {
    reading: shown(travel, unit, words),
    limits: range,
    limit: limit === undefined ? "" : shown(limit, unit, words),
  });
}

/** Why the stroke gives no verdict, in the order of the procedure. */
function voidsOf(draft, moment, brief) {
  const { words, spec, marks } = brief;
  const zero = zeroOf(draft, moment);
  const approach = approachUnderWay(draft, moment);
  const points = approach.map((reading) => net(reading.stimulus, zero, brief)).filter((value) => value !== null);
  const peak = Math.max(...points, -Infinity);
  const passed = passedMaximum(draft, moment, brief);
  const voids = [];
  if (passed) voids.push(say(words.voids.above_maximum, passed));
  voids.push(...marks.lapses);
  if (!zero) voids.push(words.voids.no_zero);
  voids.push(shortExercise(draft, moment, brief));
  const back = readingsOf(draft, moment, "zero_return");
  if (spec.exercise_cycles > 0 && !back.length) voids.push(words.voids.no_return);
  voids.push(...notBack([...back.slice(-1), ...readingsOf(draft, moment, "vent")], zero, brief));
  const closed = approach.some((reading) => reading.phase === "setting");
  if (!closed) voids.push(words.voids.no_setting_reading);
  if (peak > marks.high) voids.push(words.voids.overshoot);
  if (largestDrop(points) > marks.fall_most) voids.push(words.voids.pressure_fell);
  if (closed && points.at(-1) < marks.low) voids.push(words.voids.not_reached);
  return { voids: voids.filter(Boolean), unsafe: Boolean(passed) };
}

/** Which way the rod would have to go: the sign that the specification gives, no number of turns. */
export function wayToTurn(state, brief) {
  if (!state.startsWith("outside")) return "";
  const more = state === "outside_low";
  return (brief.spec.adjustment_sign > 0) === more ? "longer" : "shorter";
}

