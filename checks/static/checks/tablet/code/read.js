/**
 * Reading a square code (QR code, ISO/IEC 18004, versions 1 to 10) from a picture, for browsers that bring no reader of
 * their own. Loaded when a label is scanned, and kept with the app, since yards have no network.
 */

import { toBits } from "./bits.js";
import { findCorners } from "./finders.js";
import { mapping, pins, sample, sides } from "./grid.js";
import { mend } from "./mend.js";
import { readSymbol } from "./symbol.js";

const TRIPLES_TRIED = 4;
const SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/**
 * @param {{width: number, height: number, data: Uint8ClampedArray}} image  RGBA, as a canvas gives it
 * @returns {string|null} what the code says; null where none could be read
 */
export function readCode(image) {
  const bits = toBits(image);
  for (const corners of findCorners(bits).slice(0, TRIPLES_TRIED)) {
    for (const side of sides(corners)) {
      for (const held of pins(bits, corners, side)) {
        const text = textOf(sample(bits, mapping(held), side), side);
        if (text !== null) return text;
      }
    }
  }
  return null;
}

/** What the modules say; null where they say nothing. */
export function textOf(modules, side) {
  const symbol = readSymbol(modules, side);
  if (!symbol) return null;
  const mended = symbol.blocks.map(mend);
  return mended.includes(null) ? null : decode(mended.flatMap((words) => [...words]), symbol.version);
}

/** The segments of the data (ISO/IEC 18004, 7.4): digits, capitals and signs, bytes. */
function decode(words, version) {
  let place = 0;
  const take = (count) => {
    let number = 0;
    for (let i = 0; i < count; i++, place++) number = number * 2 + (((words[place >> 3] ?? 0) >> (7 - (place & 7))) & 1);
    return number;
  };
  const long = version >= 10;
  let text = "";
  while (place + 4 <= words.length * 8) {
    const kind = take(4);
    if (kind === 0) break;
    if (kind === 1) text += digits(take, take(long ? 12 : 10));
    else if (kind === 2) text += signs(take, take(long ? 11 : 9));
    else if (kind === 4) text += bytes(take, take(long ? 16 : 8));
    else if (kind === 7) take(8); // another character set: ours are UTF-8
    else return null;
    if (place > words.length * 8) return null;
  }
  return text || null;
}

function digits(take, count) {
  let text = "";
  for (let left = count; left > 0; left -= 3) {
    const size = Math.min(3, left);
    text += String(take([0, 4, 7, 10][size])).padStart(size, "0");
  }
  return text;
}

function signs(take, count) {
  let text = "";
  for (let left = count; left > 0; left -= 2) {
    if (left === 1) text += SIGNS[take(6)];
    else {
      const pair = take(11);
      text += SIGNS[Math.floor(pair / 45)] + SIGNS[pair % 45];
    }
  }
  return text;
}

function bytes(take, count) {
  return new TextDecoder().decode(Uint8Array.from({ length: count }, () => take(8)));
}
