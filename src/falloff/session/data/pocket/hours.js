// The hour that is chosen: the plan's own, or one whose daylight has a picture of its own.

/**
 * @typedef {object} Hour as Python wrote it
 * @property {string} clock "20:45"
 * @property {number|null} light its layer; null at the plan's own hour
 * @property {number[][][]} readings by reading, by daylight source: expected, low, high
 */

/** The hour of what is shown, the plan's own among them; null in a setup without an hour. */
export function hourShown(setup, now) {
  if (!setup.day) return null;
  const { hours, own } = setup.day;
  return hours.find(({ clock, light }) => light !== null && clock === now.hour) ?? hours[own];
}

/** The chosen hour if it is another than the plan's; null otherwise. */
export function otherHour(setup, now) {
  const hour = hourShown(setup, now);
  return hour === null || hour.light === null ? null : hour;
}

/** Place of a source among the daylight sources; -1 for a lamp. */
export function daylightPlace(setup, name) {
  return setup.day ? setup.day.sources.indexOf(name) : -1;
}

/** The mixer's name for an hour's layer: no source can have it. */
export function layerName(hour) {
  return `\n${hour.light}`;
}

/**
 * How far a reading may lie from what is expected, stops: least and most; null without an hour.
 * @param {number} n place of the reading
 * @param {number} value what it comes to
 */
export function spreadOf(setup, now, n, value) {
  const hour = hourShown(setup, now);
  if (hour === null || !(value > 0)) return null;
  const other = otherHour(setup, now);
  const off = [0, 0];
  hour.readings[n].forEach(([expected, low, high], k) => {
    const out = other ? now.dayOut : now.out[setup.day.sources[k]];
    if (out) return;
    off[0] += low - expected;
    off[1] += high - expected;
  });
  return off.map((part) => Math.log2(Math.max(value + part, 1e-9) / value));
}
