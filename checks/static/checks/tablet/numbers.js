/** Numbers as typed and as shown. Texts are kept as typed; the factors of units come with the sheet. */

const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;
// 1,512 may be one and a half or fifteen hundred: ask instead of guessing.
const UNCLEAR = /^[+-]?[1-9]\d{0,2},\d{3}$/;

/** @returns {number|null} what a text says; null for none, and for what can be read in two ways */
export function parse(text) {
  const plain = tight(text);
  return NUMBER.test(plain) && !UNCLEAR.test(plain) ? Number(plain.replace(",", ".")) : null;
}

export function isUnclear(text) {
  return UNCLEAR.test(tight(text));
}

function tight(text) {
  return String(text ?? "").trim().replace(/(?<=\d)[ \u00a0\u202f'](?=\d)/g, "");
}

/** A typed quantity in the unit in which it is kept; null where it is no number. */
export function kept(typed, words) {
  const value = typed ? parse(typed.text) : null;
  return value === null ? null : value * words.units[typed.unit].factor;
}

/** A kept value in `unit`. */
export function inUnit(value, unit, words) {
  return value / words.units[unit].factor;
}

/** A kept value as a person reads it, such as `213.7 kPa`. */
export function shown(value, unit, words, withUnit = true) {
  const text = inUnit(value, unit, words).toFixed(words.decimals[unit] ?? 2).replace("-", "−");
  return withUnit ? `${text} ${unit}` : text;
}

export function typedText(typed) {
  return typed ? `${typed.text} ${typed.unit}` : "";
}

/** A text moved by `by`, without the noise of binary fractions. Empty counts as zero. */
export function moved(text, by) {
  const from = parse(text) ?? 0;
  const places = Math.max(decimals(String(text)), decimals(plainly(by)));
  const scale = 10 ** places;
  return ((Math.round(from * scale) + Math.round(by * scale)) / scale).toFixed(places);
}

/** A number without an exponent. */
export function plainly(value) {
  return value.toFixed(8).replace(/\.?0+$/, "");
}

function decimals(text) {
  return (text.split(/[.,]/)[1] ?? "").length;
}

/** One division of an instrument in `unit`: exact on its own scale, a round step near it on another one. */
export function divisionIn(division, unit, words) {
  const value = inUnit(division, unit, words);
  const decade = 10 ** Math.floor(Math.log10(value) + 1e-9);
  const steps = [1, 2, 2.5, 5, 10].map((n) => n * decade);
  const nearest = steps.reduce((best, one) => (Math.abs(one - value) < Math.abs(best - value) ? one : best));
  return Number(nearest.toPrecision(6));
}
