/** What to do at this moment: indications compared with the sheet's numbers, told in the sheet's words. */

import { say } from "./dom.js";
import { kept, shown, typedText } from "./numbers.js";
import { readingsOf } from "./sequence.js";

/** @typedef {{level: 'calm'|'slow'|'reached'|'again'|'stop', sentence: string}} Watch */

/** The last vented reading before exercise: what all others are counted from. */
export function zeroOf(draft, moment) {
  return readingsOf(draft, moment, "zero").at(-1) ?? null;
}

/** A stimulus above its vented indication, counted upwards; null where it is no number. */
export function net(typed, zero, brief) {
  const value = kept(typed, brief.words);
  const vented = zero ? (kept(zero.stimulus, brief.words) ?? 0) : 0;
  return value === null ? null : (value - vented) * brief.marks.direction;
}

/** A travel above the dial's zero, mm. */
export function netTravel(typed, zero, brief) {
  const value = kept(typed, brief.words);
  const vented = zero?.travel ? (kept(zero.travel, brief.words) ?? 0) : 0;
  return value === null ? null : value - vented;
}

/** A stimulus in the person's unit, from what the instrument shows. */
export function told(value, brief) {
  return shown(value * brief.marks.per_unit, brief.stimulusUnit, brief.words);
}

/** A setting in the person's unit and, through a transducer, what its meter then shows. */
export function onTheMeter(value, mark, brief, zero = null) {
  const text = shown(value, brief.stimulusUnit, brief.words);
  const { meter, stimulus } = brief.tools;
  if (!meter) return text;
  const vented = zero ? (kept(zero.stimulus, brief.words) ?? 0) : stimulus.offset;
  return `${text} (${Number((vented + brief.marks.direction * mark).toPrecision(4))} ${meter.electrical_unit} on ${meter.label})`;
}

/** The highest stimulus and the most allowed in words, where it was passed in any phase; else null. */
export function passedMaximum(draft, moment, brief, typed = null) {
  const zero = zeroOf(draft, moment);
  const all = [...readingsOf(draft, moment).map((reading) => reading.stimulus), typed];
  const peak = Math.max(...all.map((one) => net(one, zero, brief) ?? -Infinity));
  if (!(peak > brief.marks.maximum)) return null;
  return { seen: told(peak, brief), maximum: shown(brief.spec.stimulus_max, brief.stimulusUnit, brief.words) };
}

/** The maximum was passed: stop. */
export function overMaximum(draft, moment, brief, typed = null) {
  const passed = passedMaximum(draft, moment, brief, typed);
  if (!passed) return null;
  const { watch, away } = brief.words;
  return { level: "stop", sentence: say(watch.stop, { ...passed, away: away[brief.stimulus] }) };
}

/** The readings since the last vent. */
export function approachUnderWay(draft, moment) {
  const readings = readingsOf(draft, moment, "rise", "setting", "vent");
  return readings.slice(readings.findLastIndex((reading) => reading.phase === "vent") + 1);
}

/** Where a typed stimulus falls against the capture band. */
export function reaches(typed, zero, brief) {
  const value = net(typed, zero, brief);
  if (value === null) return "";
  return value < brief.marks.low ? "below" : value > brief.marks.high ? "above" : "within";
}

/** The largest fall of a stimulus below its highest value so far. */
export function largestDrop(values) {
  let highest = -Infinity;
  let drop = 0;
  for (const value of values) {
    highest = Math.max(highest, value);
    drop = Math.max(drop, highest - value);
  }
  return drop;
}

/**
 * What to do now, from the approach under way and from what is being typed.
 * @param {{text: string, unit: string}|null} typed the stimulus in the box, not added yet
 * @param {boolean} whole whether it is typed to its end: the 2 of a 28 is no fall
 * @returns {Watch}
 */
export function watchRise(draft, moment, brief, typed = null, whole = false) {
  const { watch, back: ways } = brief.words;
  const approach = approachUnderWay(draft, moment);
  const zero = zeroOf(draft, moment);
  const points = approach.map((reading) => net(reading.stimulus, zero, brief)).filter((value) => value !== null);
  const back = ways[brief.stimulus];
  const closed = approach.at(-1)?.phase === "setting";
  const spoilt = judgePath(points, brief, back);
  const stop = overMaximum(draft, moment, brief, spoilt ? null : typed);
  if (stop) return stop;
  if (spoilt) return spoilt;
  if (closed) return { level: "reached", sentence: watch.reached };
  let now = net(typed, zero, brief);
  if (now !== null && !whole && now < (points.at(-1) ?? -Infinity)) now = null;
  const live = now === null ? null : judgePath([...points, now], brief, back);
  if (live) return live;
  const at = now ?? points.at(-1);
  if (at === undefined) {
    return { level: "calm", sentence: say(watch.raise, { setting: shown(brief.spec.setting, brief.stimulusUnit, brief.words) }) };
  }
  return onTheWay(at, brief);
}

function judgePath(points, brief, back) {
  const { watch } = brief.words;
  const { high, setting, fall_most: most } = brief.marks;
  const peak = Math.max(...points, -Infinity);
  if (peak > high) return { level: "again", sentence: say(watch.passed, { over: told(peak - setting, brief), back }) };
  const drop = largestDrop(points);
  return drop > most ? { level: "again", sentence: say(watch.fell, { fell: told(drop, brief), back }) } : null;
}

function onTheWay(now, brief) {
  const { low, setting, slow_from: slow } = brief.marks;
  const { watch } = brief.words;
  if (now >= low) return { level: "slow", sentence: watch.there };
  const below = told(setting - now, brief);
  return now >= slow
    ? { level: "slow", sentence: say(watch.slow, { below }) }
    : { level: "calm", sentence: say(watch.on, { below }) };
}

/** Why the cycles made so far are too few or too short; empty when they suffice. */
export function shortExercise(draft, moment, brief) {
  const zero = zeroOf(draft, moment);
  const least = brief.marks.exercise_from;
  const done = readingsOf(draft, moment, "exercise").filter((one) => net(one.stimulus, zero, brief) >= least).length;
  const wanted = brief.spec.exercise_cycles;
  return done < wanted ? say(brief.words.short, { done, wanted, least: told(least, brief) }) : "";
}

/** Why a first vented indication looks like none; empty where it looks like one. A transducer shows its offset. */
export function farFromZero(typed, brief) {
  const { meter, stimulus } = brief.tools;
  const { shares, zero_far: words } = brief.words;
  const value = kept(typed, brief.words);
  const vented = meter ? stimulus.offset : 0;
  // A sheet fetched by an older version has no such words.
  if (!words || value === null || Math.abs(value - vented) <= shares.zero_far * brief.marks.setting) return "";
  const label = (meter ?? stimulus).label;
  return say(words, { typed: typedText(typed), label, vented: meter ? `${vented} ${meter.electrical_unit}` : shown(0, brief.stimulusUnit, brief.words) });
}

/** Why the instruments do not count as back at zero; empty when they do. `readings`: return and vents. */
export function notBack(readings, zero, brief) {
  const { words, marks, lengthUnit } = brief;
  const signed = (text) => (text.startsWith("−") ? text : `+${text}`);
  const worst = (values) => values.reduce((most, one) => (Math.abs(one ?? 0) > Math.abs(most) ? one : most), 0);
  const travel = worst(readings.map((one) => netTravel(one.travel, zero, brief)));
  const stimulus = worst(readings.map((one) => net(one.stimulus, zero, brief)));
  const said = [];
  if (Math.abs(travel) > marks.travel_zero_most) {
    const asked = shown(marks.travel_zero_most, lengthUnit, words);
    said.push(say(words.not_back.travel, { came: signed(shown(travel, lengthUnit, words)), asked }));
  }
  if (Math.abs(stimulus) > marks.zero_most) {
    const asked = told(marks.zero_most * Math.sign(marks.per_unit), brief);
    said.push(say(words.not_back.stimulus, { came: signed(told(stimulus, brief)), asked }));
  }
  return said;
}
