// From knobs and colours to factors on layers: tables that Python sent, read between their steps.

/**
 * What a source's white light at full is times, at a knob from 0 to 1.
 * @param {{gains: number[][]}} source
 * @param {number} knob
 * @returns {[number, number, number]}
 */
export function gainAt(source, knob) {
  const rows = source.gains;
  if (rows.length === 1) return /** @type {any} */ (rows[0]);
  const at = Math.min(1, Math.max(0, knob)) * (rows.length - 1);
  const low = Math.min(rows.length - 2, Math.floor(at));
  const share = at - low;
  return /** @type {any} */ (rows[low].map((value, c) => value + share * (rows[low + 1][c] - value)));
}

/**
 * The knob, 0 to 1, that gives a share of the light at full; the inverse of the source's curve.
 * @param {{gains: number[][]}} source
 * @param {number} share
 * @param {number[]} weights of luminance
 */
export function knobOf(source, share, weights) {
  const light = source.gains.map((row) => row.reduce((sum, value, c) => sum + value * weights[c], 0));
  const full = light[light.length - 1];
  const wanted = share * full;
  if (wanted <= light[0]) return 0;
  for (let k = 1; k < light.length; k += 1) {
    if (light[k] >= wanted) {
      const step = light[k] - light[k - 1];
      return (k - 1 + (step > 0 ? (wanted - light[k - 1]) / step : 0)) / (light.length - 1);
    }
  }
  return 1;
}

/**
 * The factor on a source's colour at another kelvin.
 * @param {{hues: {kelvin: number[], rgb: number[][]} | null}} source
 * @param {number} kelvin
 * @returns {number[]}
 */
export function hueAt(source, kelvin) {
  if (!source.hues) return [1, 1, 1];
  const { kelvin: kelvins, rgb } = source.hues;
  return between(kelvins, rgb, kelvin);
}

/**
 * Rows at rising places, read at one between them.
 * @param {number[]} places
 * @param {number[][]} rows
 * @param {number} at
 */
export function between(places, rows, at) {
  if (at <= places[0]) return rows[0];
  for (let k = 1; k < places.length; k += 1) {
    if (at <= places[k]) {
      const share = (at - places[k - 1]) / (places[k] - places[k - 1]);
      return rows[k - 1].map((value, c) => value + share * (rows[k][c] - value));
    }
  }
  return rows[rows.length - 1];
}

/** The product of two 3 by 3 matrices, row by row. @param {number[]} a @param {number[]} b */
export function product(a, b) {
  const made = [];
  for (let r = 0; r < 3; r += 1) {
    for (let c = 0; c < 3; c += 1) {
      made.push(a[3 * r] * b[c] + a[3 * r + 1] * b[3 + c] + a[3 * r + 2] * b[6 + c]);
    }
  }
  return made;
}
