/** The window strip of the verdict: the window as a band, the nominal as a tick, the reading as a mark of its state. */

import { h, s } from "./dom.js";
import { shown } from "./numbers.js";

const TOP = 10;
const TALL = 56;
const MARGIN = 26;
const SHAPES = {
  inside: ["circle", { r: 6 }],
  outside_low: ["path", { d: "M-7.5 0 5 -7v14z" }],
  outside_high: ["path", { d: "M7.5 0 -5 -7v14z" }],
  undecided: ["path", { d: "M0 -6.5 6.5 0 0 6.5 -6.5 0z" }],
  void: ["path", { d: "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0M-4.2 -4.2 4.2 4.2M4.2 -4.2 -4.2 4.2" }],
};
const OPEN = ["undecided", "void"];

/** A state as its word and its mark of own shape. */
export function stateWord(state, words) {
  return h(
    "span",
    { class: `state ${state}` },
    s("svg", { viewBox: "-8 -8 16 16", "aria-hidden": "true" }, mark(state, OPEN.includes(state))),
    words.states[state],
  );
}

function mark(state, hollow) {
  const [tag, shape] = SHAPES[state];
  return s(tag, { ...shape, class: state === "void" ? "hollow line" : hollow ? "hollow" : null });
}

/**
 * @param {{verdict: Object, moment: string}[]} judged as found, or as found and as left
 */
export function windowStrip(judged, brief) {
  const narrow = window.innerWidth < 600;
  const width = narrow ? 400 : 520;
  const { spec, words, lengthUnit: unit } = brief;
  const share = (mm) => (mm - spec.lower_mm) / (spec.upper_mm - spec.lower_mm);
  const x = (mm) => width * (0.25 + 0.5 * share(mm));
  const [low, high] = [width / 4, (width * 3) / 4];
  const middle = TOP + TALL / 2;
  const end = TOP + TALL;
  const readings = judged.filter(({ verdict }) => verdict.travel !== null && verdict.state);
  const nominal = x(spec.nominal_mm);
  const crowded = Math.min(nominal - low, high - nominal) < 0.19 * width;
  const sentence = sentenceOf(readings, brief);
  const label = (text, at, y = end + 19) => s("text", { x: at, y, "text-anchor": "middle", text });
  return s(
    "svg",
    { class: "strip large", viewBox: `0 0 ${width} 104`, role: "img", "aria-label": sentence },
    s("path", { class: "scale", d: `M${MARGIN} ${middle}H${low}M${high} ${middle}H${width - MARGIN}` }),
    s("rect", { class: "band", x: low, y: TOP, width: high - low, height: TALL }),
    s("path", { class: "limit", d: `M${low} ${TOP}V${end}M${high} ${TOP}V${end}` }),
    s("path", { class: "nominal", d: `M${nominal} ${TOP}V${end}` }),
    readings.map(({ verdict, moment }, i) => {
      const wanted = x(verdict.travel);
      const at = Math.min(width - MARGIN, Math.max(MARGIN, wanted));
      const beyond = Math.sign(wanted - at);
      const y = readings.length === 1 ? middle : middle + (i ? 14 : -14);
      const tip = at + beyond * 24;
      return s(
        "g",
        { class: `mark-${verdict.state}` },
        beyond !== 0 && s("path", { class: "line", d: `M${tip - beyond * 8} ${y - 8}L${tip} ${y}L${tip - beyond * 8} ${y + 8}` }),
        s("g", { transform: `translate(${at} ${y}) scale(1.6)` }, mark(verdict.state, moment === "as_found" || OPEN.includes(verdict.state))),
      );
    }),
    s(
      "g",
      { class: "limit-words" },
      label(`${narrow ? "" : "lower "}${shown(spec.lower_mm, unit, words, false)}`, low),
      label(`${narrow ? "" : "nominal "}${shown(spec.nominal_mm, unit, words)}`, nominal, end + 19 + (crowded ? 17 : 0)),
      label(`${narrow ? "" : "upper "}${shown(spec.upper_mm, unit, words, false)}`, high),
    ),
  );
}

function sentenceOf(readings, { spec, words, lengthUnit: unit }) {
  const parts = readings.map(
    ({ verdict, moment }) => `${words.moments[moment]} ${shown(verdict.travel, unit, words)}, ${words.states[verdict.state]}, provisional`,
  );
  const window = `${shown(spec.lower_mm, unit, words, false)} to ${shown(spec.upper_mm, unit, words)}`;
  const text = [...parts, `window ${window}, nominal ${shown(spec.nominal_mm, unit, words)}`].join("; ");
  return `${text[0].toUpperCase()}${text.slice(1)}.`;
}
