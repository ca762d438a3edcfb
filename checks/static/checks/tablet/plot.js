/** The stroke as it is being made: travel against stimulus, with window, setting and maximum. */

import { s } from "./dom.js";
import { inUnit, shown } from "./numbers.js";
import { readingsOf } from "./sequence.js";
import { net, netTravel, zeroOf } from "./warn.js";

const PAD = { left: 56, right: 14, top: 26 };
const BEYOND = 1.08;

/**
 * @param {HTMLElement} host is filled, and filled again when it changes its size
 * @param {() => {draft: Object, moment: string, brief: Object, typed: Object|null}} now
 * @returns {() => void} draws it again
 */
export function strokePlot(host, now) {
  const draw = () => {
    const box = host.getBoundingClientRect();
    if (box.width > 80 && box.height > 60) host.replaceChildren(drawn(now(), Math.round(box.width), Math.round(box.height)));
  };
  new ResizeObserver(draw).observe(host);
  return draw;
}

function drawn({ draft, moment, brief, typed }, width, height) {
  const wide = width > 440; // with less, the names of setting and maximum would run into each other
  const low = height < 170; // with so little height the box beside it says what runs along the axis
  const bottom = height - (low ? 26 : 44);
  const { marks, spec, words, stimulusUnit, lengthUnit } = brief;
  const points = pointsOf(draft, moment, brief);
  const factor = Object.values(marks.limits)[0]?.factor ?? 1;
  const at = (value) => value / marks.per_unit;
  const x = axis(0, BEYOND * Math.max(marks.maximum, ...points.map((p) => p.x)), PAD.left, width - PAD.right);
  const travels = points.map((p) => p.y);
  const y = axis(Math.min(0, ...travels), 1.12 * Math.max(spec.upper_mm, ...travels), bottom, PAD.top);
  const [lower, nominal, upper] = [spec.lower_mm, spec.nominal_mm, spec.upper_mm].map((mm) => y(mm / factor));
  const [set, most] = [x(marks.setting), x(marks.maximum)];
  const typedAt = net(typed, zeroOf(draft, moment), brief);
  const sentence = sentenceOf(points, brief);
  const rising = points.filter((p) => p.phase !== "fall" && !p.past);
  const falling = points.filter((p) => p.phase === "fall" && !p.past);
  return s(
    "svg",
    { class: "stroke-plot live", viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": sentence },
    s("rect", { class: "beyond", x: most, y: PAD.top, width: Math.max(0, width - PAD.right - most), height: bottom - PAD.top }),
    ticks(y.low, y.high, lengthUnit, words, 1, height < 230 ? 2 : 6).map(([value, text]) => [
      s("path", { class: "grid", d: `M${PAD.left} ${y(value)}H${width - PAD.right}` }),
      s("text", { x: PAD.left - 7, y: y(value), dy: "0.35em", "text-anchor": "end", text }),
    ]),
    ticks(0, x.high, stimulusUnit, words, marks.per_unit, width < 420 ? 4 : 6).map(([value, text]) => [
      s("path", { class: "grid", d: `M${x(at(value))} ${bottom}v6` }),
      s("text", { x: x(at(value)), y: bottom + 21, "text-anchor": "middle", text }),
    ]),
    s("path", { class: "axis", d: `M${PAD.left} ${PAD.top}V${bottom}H${width - PAD.right}` }),
    s("path", { class: "setting", d: `M${set} ${PAD.top}V${bottom}` }),
    s("rect", { class: "window", x: set - 9, y: upper, width: 18, height: lower - upper }),
    s("path", { class: "limit", d: `M${set - 9} ${upper}h18M${set - 9} ${lower}h18` }),
    s("path", { class: "nominal", d: `M${set - 9} ${nominal}h18` }),
    s("path", { class: "maximum", d: `M${most} ${PAD.top}V${bottom}` }),
    s("text", { class: "name", x: set + (wide ? 10 : 0), y: PAD.top - 9, "text-anchor": "end", text: `setting ${shown(spec.setting, stimulusUnit, words, wide)}` }),
    s("text", { class: "name", x: width - PAD.right, y: PAD.top - 9, "text-anchor": "end", text: `max ${shown(spec.stimulus_max, stimulusUnit, words, wide)}` }),
    !low && s("text", { x: PAD.left, y: height - 6, text: `${brief.electric ? "Command" : "Pressure"}, ${stimulusUnit}` }),
    s("text", { x: 2, y: PAD.top - 9, text: `Travel, ${lengthUnit}` }),
    typedAt !== null && typedAt > 0 && typedAt < x.high && s("path", { class: "typing", d: `M${x(typedAt)} ${PAD.top}V${bottom}` }),
    rising.length > 1 && s("path", { class: "rise", d: path(rising, x, y) }),
    falling.length > 0 && s("path", { class: "fall", d: path([...rising.slice(-1), ...falling], x, y) }),
    points.map((p) => [
      p.phase === "setting" && !p.past && s("circle", { class: "ring", cx: x(p.x), cy: y(p.y), r: 11 }),
      s("circle", { class: `point ${p.past ? "past" : p.phase}`, cx: x(p.x), cy: y(p.y), r: 5.5 }),
    ]),
  );
}

function pointsOf(draft, moment, brief) {
  const zero = zeroOf(draft, moment);
  const readings = readingsOf(draft, moment);
  const vent = readings.findLastIndex((reading) => reading.phase === "vent");
  return readings
    .map((reading, i) => ({
      phase: reading.phase,
      x: net(reading.stimulus, zero, brief),
      y: netTravel(reading.travel, zero, brief),
      past: i < vent,
    }))
    .filter((p) => ["rise", "setting", "fall"].includes(p.phase) && p.x !== null && p.y !== null);
}

function axis(low, high, start, end) {
  const place = (value) => {
    const share = Math.min(1, Math.max(0, (value - low) / (high - low)));
    return Math.round((start + share * (end - start)) * 10) / 10;
  };
  return Object.assign(place, { low, high });
}

const path = (points, x, y) => `M${points.map((p) => `${x(p.x)} ${y(p.y)}`).join("L")}`;

/** Round numbers of the person's unit: [value kept, text]. `perUnit` leads from the axis to the unit kept. */
function ticks(low, high, unit, words, perUnit, most) {
  const [from, to] = [low, high].map((value) => inUnit(value * perUnit, unit, words));
  const raw = (to - from) / most;
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((n) => n * decade).find((one) => one >= raw);
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const found = [];
  for (let n = Math.ceil(from / step - 1e-9); n * step <= to + 1e-9 * step; n += 1) {
    found.push([n * step * words.units[unit].factor, (n * step).toFixed(places).replace("-", "−")]);
  }
  return found;
}

function sentenceOf(points, { spec, words, stimulusUnit, lengthUnit, marks }) {
  const window = `${shown(spec.lower_mm, lengthUnit, words, false)} to ${shown(spec.upper_mm, lengthUnit, words)}`;
  const asked =
    `setting ${shown(spec.setting, stimulusUnit, words)}, window ${window}, ` +
    `maximum ${shown(spec.stimulus_max, stimulusUnit, words)}.`;
  const counted = points.filter((p) => !p.past);
  if (!counted.length) return `No reading of this rise yet; ${asked}`;
  const last = counted.at(-1);
  const where = `${shown(last.x * marks.per_unit, stimulusUnit, words)} and ${shown(last.y, lengthUnit, words)}`;
  return `${counted.length} reading${counted.length > 1 ? "s" : ""}, the last one ${words.phases[last.phase]} at ${where}; ${asked}`;
}
