/** Mending codewords that dirt or light have changed: Reed-Solomon over GF(256), x^8+x^4+x^3+x^2+1 (ISO/IEC 18004, 7.5.2). */

const FIELD = 0x11d;
const POWERS = new Uint8Array(512);
const LOGS = new Uint8Array(256);
for (let i = 0, value = 1; i < 255; i++) {
  POWERS[i] = POWERS[i + 255] = value;
  LOGS[value] = i;
  value = value & 0x80 ? (value << 1) ^ FIELD : value << 1;
}

const times = (a, b) => (a && b ? POWERS[LOGS[a] + LOGS[b]] : 0);
const over = (a, b) => (a ? POWERS[LOGS[a] + 255 - LOGS[b]] : 0);
/** Value of a polynomial, lowest power first. */
const value = (polynomial, at) => polynomial.reduceRight((sum, part) => times(sum, at) ^ part, 0);

/** The data words of a block, mended; null where more is wrong than its check words can mend. */
export function mend({ words, checks }) {
  const word = Uint8Array.from(words);
  const syndromes = syndromesOf(word, checks);
  if (syndromes.some(Boolean)) {
    const locator = locate(syndromes);
    const places = placesOf(locator, word.length);
    if (!places) return null;
    correct(word, syndromes, locator, places);
    if (syndromesOf(word, checks).some(Boolean)) return null;
  }
  return word.subarray(0, word.length - checks);
}

function syndromesOf(word, checks) {
  return Array.from({ length: checks }, (_, i) => word.reduce((sum, part) => times(sum, POWERS[i]) ^ part, 0));
}

/** The polynomial whose roots tell the wrong places (Berlekamp and Massey). */
function locate(syndromes) {
  let [locator, before, length, shift, last] = [[1], [1], 0, 1, 1];
  for (let n = 0; n < syndromes.length; n++) {
    let off = syndromes[n];
    for (let i = 1; i <= length; i++) off ^= times(locator[i] ?? 0, syndromes[n - i]);
    if (!off) {
      shift++;
      continue;
    }
    const kept = locator;
    const factor = over(off, last);
    locator = Array.from({ length: Math.max(locator.length, before.length + shift) }, (_, i) =>
      (locator[i] ?? 0) ^ times(factor, before[i - shift] ?? 0));
    if (2 * length <= n) [length, before, last, shift] = [n + 1 - length, kept, off, 1];
    else shift++;
  }
  return locator.slice(0, length + 1);
}

/** Powers of the wrong places, counted from the last word; null where the polynomial has too few roots. */
function placesOf(locator, length) {
  const places = [];
  for (let place = 0; place < length; place++) if (!value(locator, POWERS[(255 - place) % 255])) places.push(place);
  return places.length === locator.length - 1 ? places : null;
}

/** By how much each place is wrong (Forney). */
function correct(word, syndromes, locator, places) {
  const product = syndromes.map((_, i) => locator.reduce((sum, part, j) => sum ^ times(part, syndromes[i - j] ?? 0), 0));
  for (const place of places) {
    const root = POWERS[(255 - place) % 255];
    const slope = locator.reduce((sum, part, i) => (i % 2 ? sum ^ times(part, POWERS[((i - 1) * LOGS[root]) % 255]) : sum), 0);
    const evaluator = value(product.slice(0, locator.length - 1), root);
    word[word.length - 1 - place] ^= times(POWERS[place], over(evaluator, slope));
  }
}
