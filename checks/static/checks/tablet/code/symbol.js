/** From the modules of a code to its codewords (ISO/IEC 18004, 7.7 to 7.10, and tables 1, 9 and E.1 for versions 1 to 10). */

const LEVELS = ["M", "L", "H", "Q"]; // as the two bits of the format number them
const CHECKS_A_BLOCK = {
  L: [7, 10, 15, 20, 26, 18, 20, 24, 30, 18],
  M: [10, 16, 26, 18, 24, 16, 18, 22, 22, 26],
  Q: [13, 22, 18, 26, 18, 24, 18, 22, 20, 24],
  H: [17, 28, 22, 16, 22, 28, 26, 26, 24, 28],
};
const BLOCKS = {
  L: [1, 1, 1, 1, 1, 2, 2, 2, 2, 4],
  M: [1, 1, 1, 2, 2, 4, 4, 4, 5, 5],
  Q: [1, 1, 2, 2, 4, 4, 6, 6, 8, 8],
  H: [1, 1, 2, 4, 4, 4, 5, 6, 8, 8],
};
const CODEWORDS = [26, 44, 70, 100, 134, 172, 196, 242, 292, 346];
const CENTRES = [[], [6, 18], [6, 22], [6, 26], [6, 30], [6, 34], [6, 22, 38], [6, 24, 42], [6, 26, 46], [6, 28, 50]];
const MASKS = [
  (r, c) => (r + c) % 2 === 0,
  (r) => r % 2 === 0,
  (r, c) => c % 3 === 0,
  (r, c) => (r + c) % 3 === 0,
  (r, c) => (Math.floor(r / 2) + Math.floor(c / 3)) % 2 === 0,
  (r, c) => ((r * c) % 2) + ((r * c) % 3) === 0,
  (r, c) => (((r * c) % 2) + ((r * c) % 3)) % 2 === 0,
  (r, c) => (((r + c) % 2) + ((r * c) % 3)) % 2 === 0,
];
const FORMAT_MASK = 0x5412;
const FORMAT_DIVISOR = 0x537;
const FORMAT_WRONG_MOST = 3;

/** @returns {{version: number, blocks: {words: Uint8Array, checks: number}[]}|null} null where there is no format */
export function readSymbol(modules, side) {
  const version = (side - 17) / 4;
  const format = readFormat(modules, side);
  if (!format) return null;
  const words = codewords(modules, side, version, MASKS[format.mask]);
  return { version, blocks: deinterleave(words, version, format.level) };
}

function readFormat(modules, side) {
  const get = (row, column) => modules[row * side + column];
  const first = [];
  for (let i = 0; i < 6; i++) first.push(get(8, i));
  first.push(get(8, 7), get(8, 8), get(7, 8));
  for (let i = 5; i >= 0; i--) first.push(get(i, 8));
  const second = [];
  for (let i = 1; i <= 7; i++) second.push(get(side - i, 8));
  for (let i = 8; i >= 1; i--) second.push(get(8, side - i));
  let best = null;
  for (const seen of [first, second].map((bits) => bits.reduce((all, bit) => (all << 1) | bit, 0))) {
    for (let data = 0; data < 32; data++) {
      const wrong = ones(seen ^ formatBits(data));
      if (!best || wrong < best.wrong) best = { wrong, level: LEVELS[data >> 3], mask: data & 7 };
    }
  }
  return best.wrong <= FORMAT_WRONG_MOST ? best : null;
}

/** Five bits with their ten check bits (BCH), masked. */
function formatBits(data) {
  let rest = data << 10;
  for (let bit = 14; bit >= 10; bit--) if (rest & (1 << bit)) rest ^= FORMAT_DIVISOR << (bit - 10);
  return ((data << 10) | rest) ^ FORMAT_MASK;
}

function ones(number) {
  let count = 0;
  for (let rest = number; rest; rest &= rest - 1) count++;
  return count;
}

/** Whether a module belongs to a pattern, and carries no data. */
function reserved(side, version) {
  const taken = new Uint8Array(side * side);
  const fill = (top, left, height, width) => {
    for (let r = top; r < top + height; r++) taken.fill(1, r * side + left, r * side + left + width);
  };
  fill(0, 0, 9, 9);
  fill(0, side - 8, 9, 8);
  fill(side - 8, 0, 8, 9);
  fill(6, 0, 1, side);
  fill(0, 6, side, 1);
  const last = side - 7;
  for (const r of CENTRES[version - 1]) {
    for (const c of CENTRES[version - 1]) {
      const atCorner = (r === 6 && c === 6) || (r === 6 && c === last) || (r === last && c === 6);
      if (!atCorner) fill(r - 2, c - 2, 5, 5);
    }
  }
  if (version >= 7) {
    fill(0, side - 11, 6, 3);
    fill(side - 11, 0, 3, 6);
  }
  return taken;
}

/** Two columns at a time from the right, upwards and downwards in turn, leaving out the timing column. */
function codewords(modules, side, version, mask) {
  const taken = reserved(side, version);
  const words = new Uint8Array(CODEWORDS[version - 1]);
  let bit = 0;
  let up = true;
  for (let right = side - 1; right > 0; right -= 2) {
    if (right === 6) right--;
    for (let i = 0; i < side; i++) {
      const r = up ? side - 1 - i : i;
      for (const c of [right, right - 1]) {
        if (taken[r * side + c] || bit >= words.length * 8) continue;
        words[bit >> 3] |= (modules[r * side + c] ^ (mask(r, c) ? 1 : 0)) << (7 - (bit & 7));
        bit++;
      }
    }
    up = !up;
  }
  return words;
}

/** The blocks, each with its check words at its end; the first ones may be a data word shorter. */
function deinterleave(words, version, level) {
  const count = BLOCKS[level][version - 1];
  const checks = CHECKS_A_BLOCK[level][version - 1];
  const shorter = count - (words.length % count);
  const short = Math.floor(words.length / count) - checks;
  const lengths = Array.from({ length: count }, (_, i) => short + (i < shorter ? 0 : 1));
  const blocks = lengths.map((length) => ({ words: new Uint8Array(length + checks), checks }));
  let next = 0;
  for (let i = 0; i <= short; i++) {
    blocks.forEach((block, b) => {
      if (i < lengths[b]) block.words[i] = words[next++];
    });
  }
  for (let i = 0; i < checks; i++) blocks.forEach((block, b) => (block.words[lengths[b] + i] = words[next++]));
  return blocks;
}
