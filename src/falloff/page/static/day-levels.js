// What a day's readings are in stops, with the fixtures as they are set just now, and when what is
// wanted holds: the same sums and the same straight lines as in day/stretches.py.

import { levelsOf } from "./levels.js";

const HALF_STOP = 0.5;

/**
 * @typedef {object} DayLevels
 * @property {number[]} minutes
 * @property {(number | null)[]} stops @property {(number | null)[]} low @property {(number | null)[]} high
 * @property {number[]} value lux, or cd/m² for a spot, with what the fixtures give now
 * @property {number[]} least @property {number[]} most of the value, over the spread
 * @property {number} zero what 0 stops is @property {number} fixed what the fixtures give of the value
 *
 * @typedef {{start: number, end: number, sure: boolean}} Stretch in minutes
 */

/**
 * Every reading of a day. @param {any} app @param {string} setup @param {any} day
 * @returns {Map<string, DayLevels>}
 */
export function dayLevels(app, setup, day) {
  /** @type {Map<string, DayLevels>} */
  const found = new Map();
  const exposure = app.exposure(setup);
  if (!exposure) return found;
  const now = levelsOf(app, setup, app.gains(setup, { alone: null }));
  for (const [name, told] of Object.entries(day.levels)) {
    const level = now.get(name);
    if (!level) continue;
    const zero = level.instrument === "spot" ? exposure.grey_nit : exposure.key_lux;
    let fixed = 0;
    for (const part of level.parts) if (isLamp(app, part.source)) fixed += part.value;
    const plus = (/** @type {number[]} */ values) => values.map((value) => value + fixed);
    const [value, least, most] = [told.value, told.low, told.high].map(plus);
    const stops = (/** @type {number[]} */ values) => values.map((one) => (one > 0 ? Math.log2(one / zero) : null));
    found.set(name, {
      minutes: day.minutes, value, least, most, zero, fixed,
      stops: stops(value), low: stops(least), high: stops(most),
    });
  }
  return found;
}

/** Whether a source is a light that is set, not daylight. @param {any} app @param {string} source */
function isLamp(app, source) {
  const kind = app.tree.sources[source]?.kind;
  return kind === "fixture" || kind === "practical";
}

/** Whether a reading's stops are over middle grey, not over key. @param {any} app @param {string} name */
export function isSpot(app, name) {
  return app.tree.readings[name]?.instrument === "spot";
}

/** The reading in stops at a minute, on straight lines. @param {DayLevels} levels @param {number} minute */
export function levelAt(levels, minute) {
  return valueAt(levels.minutes, levels.stops, minute);
}

/**
 * A value between two moments; null outside, or where either is not known.
 * @param {number[]} minutes @param {(number | null)[]} values @param {number} minute
 */
export function valueAt(minutes, values, minute) {
  for (let k = 1; k < minutes.length; k += 1) {
    if (minutes[k - 1] <= minute && minute <= minutes[k]) {
      const [low, high] = [values[k - 1], values[k]];
      if (low === null || high === null) return minute === minutes[k - 1] ? low : minute === minutes[k] ? high : null;
      const share = (minute - minutes[k - 1]) / (minutes[k] - minutes[k - 1]);
      return low + share * (high - low);
    }
  }
  return null;
}

/**
 * When a target is met. @param {any} target of the tree @param {Map<string, DayLevels>} levels
 * @returns {Stretch[] | null} null where it cannot be told
 */
export function targetStretches(target, levels) {
  if (target.kind && target.kind !== "level") return null; // judged on the server, of now alone
  const one = levels.get(target.reading);
  const other = target.over === null ? null : levels.get(target.over);
  if (!one || other === undefined) return null;
  const margins = (/** @type {"stops" | "low" | "high"} */ part) => one[part].map((stops, k) => {
    const base = other ? other[part][k] : 0;
    return stops === null || base === null ? null : margin(target, stops - base);
  });
  const [low, high] = [margins("low"), margins("high")];
  const least = low.map((value, k) => (value === null || high[k] === null ? null : Math.min(value, /** @type {number} */ (high[k]))));
  return stretches(one.minutes, margins("stops"), least);
}

/**
 * While a reading stays within half a stop of what it is at a minute.
 * @param {DayLevels} levels @param {number} minute @returns {Stretch[]}
 */
export function nearStretches(levels, minute) {
  const begun = levelAt(levels, minute);
  if (begun === null) return [];
  return stretches(levels.minutes, levels.stops.map((one) => (one === null ? null : HALF_STOP - Math.abs(one - begun))), null);
}

/** While something is so between moments. @param {number[]} minutes @param {boolean[]} flags */
export function flagStretches(minutes, flags) {
  return stretches(minutes, flags.map((flag) => (flag ? 1 : -1)), null);
}

/** How far within its tolerance a level is, stops. @param {any} target @param {number} level */
function margin(target, level) {
  const off = level - target.level_stops;
  if (target.limit === "at most") return target.tolerance_stops - off;
  if (target.limit === "at least") return off + target.tolerance_stops;
  return target.tolerance_stops - Math.abs(off);
}

/**
 * Where a margin is not below zero; its ends lie where straight lines between moments cross.
 * @param {number[]} minutes @param {(number | null)[]} margins @param {(number | null)[] | null} least
 * @returns {Stretch[]}
 */
function stretches(minutes, margins, least) {
  const found = crossed(minutes, margins);
  if (least === null) return found.map((one) => ({ ...one, sure: false }));
  const certain = crossed(minutes, least);
  return found.flatMap(({ start, end }) => {
    /** @type {Stretch[]} */
    const parted = [];
    let at = start;
    for (const one of certain) {
      const [first, last] = [Math.max(one.start, start), Math.min(one.end, end)];
      if (first >= last) continue;
      if (first > at) parted.push({ start: at, end: first, sure: false });
      parted.push({ start: first, end: last, sure: true });
      at = last;
    }
    if (at < end) parted.push({ start: at, end, sure: false });
    return parted;
  });
}

/** @param {number[]} minutes @param {(number | null)[]} margins */
function crossed(minutes, margins) {
  /** @type {{start: number, end: number}[]} */
  const found = [];
  /** @type {number | null} */
  let start = null;
  margins.forEach((value, k) => {
    const holds = value !== null && value >= 0;
    if (holds && start === null) start = k === 0 ? minutes[0] : crossing(minutes, margins, k);
    if (!holds && start !== null) {
      found.push({ start, end: crossing(minutes, margins, k) });
      start = null;
    }
  });
  if (start !== null) found.push({ start, end: minutes[minutes.length - 1] });
  return found;
}

/** @param {number[]} minutes @param {(number | null)[]} margins @param {number} k */
function crossing(minutes, margins, k) {
  const [before, after] = [margins[k - 1], margins[k]];
  if (before === null || after === null || before === after) return before === null ? minutes[k] : minutes[k - 1];
  const share = Math.min(1, Math.max(0, before / (before - after)));
  return minutes[k - 1] + share * (minutes[k] - minutes[k - 1]);
}
