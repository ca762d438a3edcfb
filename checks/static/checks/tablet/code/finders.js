/** Where a code is: its three corner patterns (dark, light and dark in the ratio 1:1:3:1:1, ISO/IEC 18004, 6.3.3). */

import { at } from "./bits.js";

const RATIO = [1, 1, 3, 1, 1];
const CANDIDATES = 12;

/** @typedef {{x: number, y: number, module: number, seen: number}} Corner  `module` in pixels, as cut along a row */

/**
 * The likeliest three corners, the others' common neighbour first, then clockwise.
 *
 * @param {import("./bits.js").Bits} bits
 * @returns {Corner[][]} triples, the best first
 */
export function findCorners(bits) {
  const found = [];
  for (let y = 0; y < bits.height; y++) scanRow(bits, y, found);
  const likely = found.filter((one) => one.seen > 1).sort((a, b) => b.seen - a.seen).slice(0, CANDIDATES);
  const triples = [];
  for (let i = 0; i < likely.length; i++) {
    for (let j = i + 1; j < likely.length; j++) {
      for (let k = j + 1; k < likely.length; k++) triples.push(ordered([likely[i], likely[j], likely[k]]));
    }
  }
  return triples.filter((one) => one.misfit < 0.5).sort((a, b) => a.misfit - b.misfit).map((one) => one.corners);
}

function scanRow(bits, y, found) {
  const { width, dark } = bits;
  const runs = [0, 0, 0, 0, 0];
  let state = 0;
  const start = y * width;
  for (let x = 0; x <= width; x++) {
    const isDark = x < width && dark[start + x] === 1;
    if (isDark === (state % 2 === 0)) {
      runs[state]++;
      continue;
    }
    if (state === 0 && runs[0] === 0) continue;
    if (state < 4) {
      runs[++state] = 1;
      continue;
    }
    if (fits(runs)) keep(bits, x - runs[4] - runs[3] - runs[2] / 2, y, found);
    // The last three runs may be the first three of the next pattern.
    runs.splice(0, 5, runs[2], runs[3], runs[4], 1, 0);
    state = 3;
  }
}

function fits(runs) {
  const module = runs.reduce((sum, run) => sum + run, 0) / 7;
  return module >= 1 && runs.every((run, i) => Math.abs(run - RATIO[i] * module) < RATIO[i] * module * (i === 2 ? 0.35 : 0.7));
}

/** Look at a candidate crosswise before it counts, and merge it with what was seen of it in other rows. */
function keep(bits, x, y, found) {
  const down = cut(bits, x, y, 0, 1);
  if (!down) return;
  const middle = y + 0.5 + down.shift;
  const across = cut(bits, x, middle, 1, 0);
  if (!across || Math.abs(across.module - down.module) > 0.5 * Math.max(across.module, down.module)) return;
  const spot = { x: Math.floor(x) + 0.5 + across.shift, y: middle, module: (across.module + down.module) / 2 };
  const near = found.find((one) => Math.hypot(one.x - spot.x, one.y - spot.y) < 3 * one.module);
  if (!near) return void found.push({ ...spot, seen: 1 });
  for (const part of ["x", "y", "module"]) near[part] = (near[part] * near.seen + spot[part]) / (near.seen + 1);
  near.seen++;
}

/** The five runs through a point along one direction. @returns {{module: number, shift: number}|null} */
function cut(bits, x, y, dx, dy) {
  if (!at(bits, x, y)) return null;
  const limit = Math.max(bits.width, bits.height) / 2;
  const walk = (sign) => {
    const runs = [0, 0, 0];
    let step = sign > 0 ? 0 : 1;
    for (let part = 0; part < 3; part++) {
      while (at(bits, x + sign * step * dx, y + sign * step * dy) === (part + 1) % 2 && runs[part] < limit) {
        runs[part]++;
        step++;
      }
      if (!runs[part]) return null;
    }
    return runs;
  };
  const [before, behind] = [walk(-1), walk(1)];
  if (!before || !behind) return null;
  const runs = [before[2], before[1], before[0] + behind[0], behind[1], behind[2]];
  return fits(runs) ? { module: runs.reduce((sum, run) => sum + run, 0) / 7, shift: (behind[0] - before[0] - 1) / 2 } : null;
}


/** The corners in their order, and how far they are from those of a square. */
function ordered(three) {
  const side = (a, b) => Math.hypot(a.x - b.x, a.y - b.y);
  const lengths = [side(three[1], three[2]), side(three[0], three[2]), side(three[0], three[1])];
  const longest = lengths.indexOf(Math.max(...lengths));
  const corner = three[longest];
  let [right, below] = three.filter((one) => one !== corner);
  const turn = (right.x - corner.x) * (below.y - corner.y) - (right.y - corner.y) * (below.x - corner.x);
  if (turn < 0) [right, below] = [below, right];
  const [a, b] = [side(corner, right), side(corner, below)];
  const modules = three.map((one) => one.module);
  const misfit =
    Math.abs(a - b) / (a + b) +
    Math.abs(lengths[longest] / Math.hypot(a, b) - 1) +
    0.3 * (Math.max(...modules) / Math.min(...modules) - 1);
  return { corners: [corner, right, below], misfit };
}
