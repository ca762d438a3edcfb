/** From the corners of a code in a picture to its modules, seen from whatever side. */

import { at } from "./bits.js";

const SPREAD = 0.22;

/** @typedef {{x: number, y: number}} Point */

/** Numbers of modules along a side that the distance of the corners allows, the likeliest first. */
export function sides([corner, right, below]) {
  const lean = (a, b) => {
    const angle = Math.atan2(b.y - a.y, b.x - a.x);
    return Math.max(Math.abs(Math.cos(angle)), Math.abs(Math.sin(angle)));
  };
  // A row cuts a leaning pattern at an angle, and sees its modules wider than they are.
  const across = (a, b) => Math.hypot(a.x - b.x, a.y - b.y) / (((a.module + b.module) / 2) * lean(a, b));
  const guess = (across(corner, right) + across(corner, below)) / 2 + 7;
  const version = Math.round((guess - 17) / 4);
  return [version, version + 1, version - 1, version + 2, version - 2].filter((one) => one >= 1 && one <= 10).map((one) => 17 + 4 * one);
}

/** Four points in the picture, and where they are on the code, in modules. The fourth is the small pattern's, else a guess. */
export function pins(bits, [corner, right, below], side) {
  const far = side - 3.5;
  const on = [{ x: 3.5, y: 3.5 }, { x: far, y: 3.5 }, { x: 3.5, y: far }];
  const guess = { x: right.x + below.x - corner.x, y: right.y + below.y - corner.y };
  const plain = { seen: [corner, right, below, guess], on: [...on, { x: far, y: far }] };
  if (side < 25) return [plain];
  const share = (side - 10) / (side - 7);
  const expected = { x: corner.x + share * (guess.x - corner.x), y: corner.y + share * (guess.y - corner.y) };
  const module = Math.hypot(right.x - corner.x, right.y - corner.y) / (side - 7);
  const small = findSmall(bits, expected, module, plain, side);
  return small ? [{ seen: [corner, right, below, small], on: [...on, { x: side - 6.5, y: side - 6.5 }] }, plain] : [plain];
}

/** The alignment pattern at the far corner: a dark module, a light ring, a dark ring (ISO/IEC 18004, 6.3.6). */
function findSmall(bits, expected, module, plain, side) {
  const rough = mapping(plain);
  const step = (dx, dy) => {
    const [from, to] = [rough(side / 2, side / 2), rough(side / 2 + dx, side / 2 + dy)];
    return { x: to.x - from.x, y: to.y - from.y };
  };
  const [right, down] = [step(1, 0), step(0, 1)];
  let best = null;
  const reach = 4.5 * module;
  const stride = Math.max(1, module / 4);
  for (let dy = -reach; dy <= reach; dy += stride) {
    for (let dx = -reach; dx <= reach; dx += stride) {
      const spot = { x: expected.x + dx, y: expected.y + dy };
      const score = likeness(bits, spot, right, down) - 0.25 * (Math.hypot(dx, dy) / reach);
      if (!best || score > best.score + 1e-9) best = { ...spot, score, sum: { ...spot }, count: 1 };
      else if (Math.abs(score - best.score) < 0.12 && Math.hypot(spot.x - best.x, spot.y - best.y) < module) {
        best.sum.x += spot.x;
        best.sum.y += spot.y;
        best.count++;
      }
    }
  }
  return best && best.score > 0.62 ? { x: best.sum.x / best.count, y: best.sum.y / best.count } : null;
}

/** How much of the five by five modules around a spot is as it should be, from 0 to 1. */
function likeness(bits, spot, right, down) {
  let good = 0;
  for (let v = -2; v <= 2; v++) {
    for (let u = -2; u <= 2; u++) {
      const ring = Math.max(Math.abs(u), Math.abs(v));
      const dark = at(bits, spot.x + u * right.x + v * down.x, spot.y + u * right.y + v * down.y);
      if (dark === (ring === 1 ? 0 : 1)) good++;
    }
  }
  return good / 25;
}

/** The perspective that takes modules to the picture. @returns {(u: number, v: number) => Point} */
export function mapping({ seen, on }) {
  const toSeen = fromSquare(seen);
  const toOn = inverse(fromSquare(on));
  const m = product(toSeen, toOn);
  return (u, v) => {
    const w = m[6] * u + m[7] * v + m[8];
    return { x: (m[0] * u + m[1] * v + m[2]) / w, y: (m[3] * u + m[4] * v + m[5]) / w };
  };
}

/** The matrix, row by row, that takes (0,0), (1,0), (0,1), (1,1) to four points. */
function fromSquare([a, b, c, d]) {
  const [sx, sy] = [a.x - b.x + d.x - c.x, a.y - b.y + d.y - c.y];
  const [bx, by, cx, cy] = [b.x - d.x, b.y - d.y, c.x - d.x, c.y - d.y];
  const det = bx * cy - cx * by;
  const [g, h] = [(sx * cy - cx * sy) / det, (bx * sy - sx * by) / det];
  return [b.x - a.x + g * b.x, c.x - a.x + h * c.x, a.x, b.y - a.y + g * b.y, c.y - a.y + h * c.y, a.y, g, h, 1];
}

function inverse([a, b, c, d, e, f, g, h, i]) {
  return [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f, d * h - e * g, b * g - a * h, a * e - b * d];
}

function product(m, n) {
  return m.map((_, i) => [0, 1, 2].reduce((sum, k) => sum + m[3 * Math.floor(i / 3) + k] * n[3 * k + (i % 3)], 0));
}

/** The modules, row by row: each is what most of five spots within it say. */
export function sample(bits, where, side) {
  const modules = new Uint8Array(side * side);
  const spots = [[0, 0], [SPREAD, SPREAD], [-SPREAD, SPREAD], [SPREAD, -SPREAD], [-SPREAD, -SPREAD]];
  for (let v = 0; v < side; v++) {
    for (let u = 0; u < side; u++) {
      let dark = 0;
      for (const [du, dv] of spots) {
        const { x, y } = where(u + 0.5 + du, v + 0.5 + dv);
        dark += at(bits, x, y);
      }
      modules[v * side + u] = dark > 2 ? 1 : 0;
    }
  }
  return modules;
}
