/** From a camera's picture to dark and light: each pixel is held against its own neighbourhood, so shadows do not matter. */

// A pixel is dark where it lies this share below the mean around it.
const BELOW = 0.9;
const NEIGHBOURHOOD = 1 / 8;

/**
 * @typedef {Object} Bits
 * @property {number} width
 * @property {number} height
 * @property {Uint8Array} dark  1 where dark, row by row
 */

/**
 * @param {{width: number, height: number, data: Uint8ClampedArray}} image  RGBA, as a canvas gives it
 * @returns {Bits}
 */
export function toBits({ width, height, data }) {
  const grey = new Float32Array(width * height);
  for (let i = 0; i < grey.length; i++) grey[i] = 0.299 * data[4 * i] + 0.587 * data[4 * i + 1] + 0.114 * data[4 * i + 2];
  const sums = summed(grey, width, height);
  const reach = Math.max(4, Math.round((Math.max(width, height) * NEIGHBOURHOOD) / 2));
  const dark = new Uint8Array(width * height);
  const across = width + 1;
  for (let y = 0; y < height; y++) {
    const top = Math.max(0, y - reach) * across;
    const bottom = Math.min(height, y + reach + 1) * across;
    for (let x = 0; x < width; x++) {
      const left = Math.max(0, x - reach);
      const right = Math.min(width, x + reach + 1);
      const area = ((bottom - top) / across) * (right - left);
      const sum = sums[bottom + right] - sums[bottom + left] - sums[top + right] + sums[top + left];
      dark[y * width + x] = grey[y * width + x] * area < sum * BELOW ? 1 : 0;
    }
  }
  return { width, height, dark };
}

/** Sums over everything above and to the left, with a first row and column of zeros. */
function summed(grey, width, height) {
  const across = width + 1;
  const sums = new Float64Array(across * (height + 1));
  for (let y = 0; y < height; y++) {
    let row = 0;
    for (let x = 0; x < width; x++) {
      row += grey[y * width + x];
      sums[(y + 1) * across + x + 1] = sums[y * across + x + 1] + row;
    }
  }
  return sums;
}

/** @returns {number} 1 where dark, 0 where light or outside */
export function at({ width, height, dark }, x, y) {
  const [column, row] = [Math.floor(x), Math.floor(y)];
  return column < 0 || row < 0 || column >= width || row >= height ? 0 : dark[row * width + column];
}
