// What the meter reads: the readings' matrix weighed with the gains of this very moment.

/**
 * @typedef {object} Part one source's light at a reading
 * @property {string} source @property {number} value @property {number} share @property {number} stops
 *
 * @typedef {object} Level one reading
 * @property {string} name @property {string} instrument "flat", "dome" or "spot"
 * @property {string | null} subject @property {string} place @property {string} faces
 * @property {number} value lux, or cd/m² for a spot
 * @property {number} stops over key, or over middle grey for a spot; -Infinity without light
 * @property {string} reference what 0 is called
 * @property {number} direct share of the value that came straight from the sources, 0 to 1
 * @property {Part[]} parts in the order of the matrix
 */

/**
 * Every reading of a setup.
 * @param {any} app @param {string} setup @param {Record<string, number[]>} gains
 * @returns {Map<string, Level>} empty where nothing is metered yet
 */
export function levelsOf(app, setup, gains) {
  const meter = app.meter.of(setup);
  const exposure = app.exposure(setup);
  /** @type {Map<string, Level>} */
  const found = new Map();
  if (!meter || !exposure) return found;
  const weights = app.tree.tables.luminance;
  meter.readings.forEach((/** @type {any} */ reading, /** @type {number} */ p) => {
    const spot = reading.instrument === "spot";
    const zero = spot ? exposure.grey_nit : exposure.key_lux;
    let value = 0;
    let direct = 0;
    const parts = meter.sources.map((/** @type {string} */ source, /** @type {number} */ s) => {
      const gain = gains[source] ?? [0, 0, 0];
      const straight = weighed(meter.direct[s][p], gain, weights);
      const all = straight + weighed(meter.bounced[s][p], gain, weights);
      value += all;
      direct += straight;
      return { source, value: all, share: 0, stops: stopsOver(all, zero) };
    });
    for (const part of parts) part.share = value > 0 ? part.value / value : 0;
    const { name, instrument, subject, place, faces } = reading;
    found.set(name, {
      name, instrument, subject, place, faces, value, parts,
      stops: stopsOver(value, zero),
      reference: spot ? "middle grey" : "key",
      direct: value > 0 ? direct / value : 0,
    });
  });
  return found;
}

/** The reading that the lists speak of: the chosen one, the setup's key, or the first. @param {any} app */
export function spotOf(app) {
  const { setup, spot } = app.look.state;
  const { tree } = app;
  if (spot && tree.readings[spot]) return spot;
  const key = tree.setups[setup]?.key;
  return key && tree.readings[key] ? key : (tree.reading_order[0] ?? "");
}

/**
 * How far a target is missed, in stops, 0 where it is met; null where it cannot be told.
 * @param {any} target of the tree @param {Map<string, Level>} levels
 */
export function missedBy(target, levels) {
  const level = levels.get(target.reading);
  const over = target.over === null ? null : levels.get(target.over);
  if (!level || over === undefined) return null;
  // Each by its own instrument: a spot over middle grey against a receptor over key.
  const stops = over ? level.stops - over.stops : level.stops;
  if (!Number.isFinite(stops)) return null;
  let off = stops - target.level_stops;
  if (target.limit === "at most") off = Math.max(0, off);
  if (target.limit === "at least") off = Math.min(0, off);
  return Math.abs(off) > target.tolerance_stops + 1e-9 ? off : 0;
}

/** @param {number[]} rgb @param {number[]} weights */
export function luminanceOf(rgb, weights) {
  return rgb[0] * weights[0] + rgb[1] * weights[1] + rgb[2] * weights[2];
}

/** @param {number[]} light @param {number[]} gain @param {number[]} weights */
function weighed(light, gain, weights) {
  return light[0] * gain[0] * weights[0] + light[1] * gain[1] * weights[1] + light[2] * gain[2] * weights[2];
}

/** @param {number} value @param {number} zero */
function stopsOver(value, zero) {
  return value > 0 && zero > 0 ? Math.log2(value / zero) : -Infinity;
}
