// Light from dims: gains by table, readings by source, exposure by stops. Python made every number.
import { daylightPlace, layerName, otherHour, spreadOf } from "./hours.js";

/**
 * @typedef {object} Now what is set on the phone, of one setup
 * @property {Object<string, number>} knobs 0 to 1, by light
 * @property {Object<string, boolean>} out sources that are off or left out
 * @property {{stop: number, iso: number, nd: number, balance: number}} chosen places in the lists
 * @property {string} [hour] the chosen hour's clock; absent at the plan's own
 * @property {boolean} [dayOut] all daylight of another hour is left out
 */

/** @returns {Now} the setup as planned */
export function planned(setup) {
  const knobs = {};
  for (const source of setup.sources) knobs[source.name] = source.knob;
  return { knobs, out: {}, chosen: { ...setup.exposure.own } };
}

/** The gain (3) of a source at a knob, straight between the table's whole per cents. */
export function gainAt(source, knob) {
  if (Math.abs(knob - source.knob) < 1e-9) return source.at_plan;
  const table = source.gains;
  if (table.length === 1) return table[0];
  const place = Math.min(Math.max(knob, 0), 1) * (table.length - 1);
  const low = Math.min(Math.floor(place), table.length - 2);
  const part = place - low;
  return table[low].map((value, k) => value + (table[low + 1][k] - value) * part);
}

/**
 * Gains by source; what is out gives nothing. At another hour than the plan's, windows and sun give
 * way to that hour's one layer.
 */
export function gainsOf(setup, now) {
  const gains = {};
  const hour = otherHour(setup, now);
  if (hour) gains[layerName(hour)] = now.dayOut ? [0, 0, 0] : [1, 1, 1];
  for (const source of setup.sources) {
    const { name } = source;
    const replaced = hour && daylightPlace(setup, name) >= 0;
    gains[name] = now.out[name] || replaced ? [0, 0, 0] : gainAt(source, now.knobs[name]);
  }
  return gains;
}

function luminanceOf(gain, weights) {
  return gain[0] * weights[0] + gain[1] * weights[1] + gain[2] * weights[2];
}

/** Share of a source's full light at a knob, 0 to 1. */
export function lightShare(source, knob, weights) {
  const full = luminanceOf(source.gains[source.gains.length - 1], weights);
  return luminanceOf(gainAt(source, knob), weights) / full;
}

/** The knob, 0 to 1, at which a source gives a share of its full light. */
export function knobOfShare(source, share, weights) {
  if (share >= 1) return 1;
  let low = 0;
  let high = 1;
  for (let step = 0; step < 50; step += 1) {
    const middle = (low + high) / 2;
    if (lightShare(source, middle, weights) < share) low = middle;
    else high = middle;
  }
  return Math.abs(high - source.knob) < 1e-6 ? source.knob : high;
}

/** A knob moved by so many stops of light; it stops at full, and goes out below 1/1000. */
export function knobMoved(source, knob, stops, weights) {
  const share = lightShare(source, knob, weights);
  if (stops > 0 && share < 0.002) return knobOfShare(source, 0.002 * 2 ** stops, weights);
  const wanted = share * 2 ** stops;
  if (wanted > 0.9999) return 1;
  return wanted < 0.001 ? 0 : knobOfShare(source, wanted, weights);
}

/** Key and middle grey, the matrix and the stops of light that all choices together ask for. */
export function exposureOf(setup, now) {
  const plan = setup.exposure;
  const { stop, iso, nd, balance } = now.chosen;
  const stops = plan.stop[stop].stops + plan.iso[iso].stops + plan.nd[nd].stops;
  const grey = plan.grey_nit * 2 ** stops;
  return {
    stops,
    key_lux: plan.key_lux * 2 ** stops,
    grey_nit: grey,
    matrix: plan.balance[balance].matrix.map((value) => value / grey),
  };
}

/**
 * What one reading comes to: value, stops over its reference, and each source's own part.
 * @param {(source: string) => number|null} daylight a source's part at another hour, else null
 */
export function readingOf(setup, reading, gains, exposure, weights, daylight) {
  const spot = reading.instrument === "spot";
  const against = spot ? exposure.grey_nit : exposure.key_lux;
  const parts = setup.sources.map((source, s) => {
    const gain = gains[source.name];
    const given = daylight(source.name);
    let value = given ?? 0;
    for (let c = 0; c < 3 && given === null; c += 1) {
      value += weights[c] * gain[c] * (reading.direct[s][c] + reading.bounced[s][c]);
    }
    return { source: source.name, value, stops: stopsOf(value, against) };
  });
  const value = parts.reduce((sum, part) => sum + part.value, 0);
  return {
    value,
    stops: stopsOf(value, against),
    reference: spot ? "grey" : "key",
    parts: parts.map((part) => ({ ...part, share: value > 0 ? part.value / value : 0 })),
  };
}

/** All readings of a setup as it is set. */
export function readingsOf(setup, now, weights) {
  const gains = gainsOf(setup, now);
  const exposure = exposureOf(setup, now);
  const hour = otherHour(setup, now);
  return setup.readings.map((one, n) => {
    const daylight = (name) => {
      const place = hour ? daylightPlace(setup, name) : -1;
      if (place < 0) return null;
      return now.dayOut ? 0 : hour.readings[n][place][0];
    };
    const told = readingOf(setup, one, gains, exposure, weights, daylight);
    return { ...told, spread: spreadOf(setup, now, n, told.value) };
  });
}

/** log2 of a ratio; -Infinity where there is no light. */
export function stopsOf(value, against) {
  return value > 0 ? Math.log2(value / against) : -Infinity;
}
