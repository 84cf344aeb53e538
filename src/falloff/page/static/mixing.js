// What each layer is multiplied with, and how the sum is exposed: what is written, what a hand
// holds just now, and what is only being looked at.

import { between, gainAt, hueAt, product } from "./gains.js";

/**
 * A setup as it is shown: as the tree has it, but for dims and exposure that are looked at only.
 * @param {any} app @param {string} setup @returns {any} null where there is none
 */
export function shownSetup(app, setup) {
  const one = app.tree?.setups[setup];
  const tried = app.trial?.setups[setup];
  return one && tried ? { ...one, ...tried } : one ?? null;
}

/**
 * The factor on each source's white light: its dim and colour, what a hand holds, what is left out.
 * @param {any} app
 * @param {string} setup
 * @param {string | null} alone
 * @returns {Record<string, number[]>}
 */
export function gainsOf(app, setup, alone) {
  const { tree } = app;
  const one = shownSetup(app, setup);
  if (!one) return {};
  // What a hand holds belongs to the setup that is shown.
  const holds = setup === app.look.state.setup;
  /** @type {Record<string, number[]>} */
  const made = {};
  for (const name of tree.source_order) {
    if (alone ? alone !== name : app.look.state.unseen.includes(name)) {
      made[name] = [0, 0, 0];
      continue;
    }
    const source = tree.sources[name];
    const held = holds ? app.held.get(name) : undefined;
    const dim = one.dims[name];
    let gain = held?.knob !== undefined ? gainAt(source, held.knob) : dim?.rgb ?? app.light.colourOf(setup, name) ?? source.gains[source.gains.length - 1];
    if (held?.kelvin !== undefined) {
      const factor = hueAt(source, held.kelvin);
      gain = gain.map((/** @type {number} */ value, /** @type {number} */ c) => value * factor[c]);
    }
    made[name] = one.without.includes(name) ? [0, 0, 0] : gain;
  }
  return made;
}

/**
 * The camera's exposure of a setup, also while it is moved or only looked at.
 * @param {any} app @param {string} setup
 */
export function exposureOf(app, setup) {
  const one = shownSetup(app, setup);
  const tone = one && app.tones.get(one.tone);
  if (!tone) return null;
  const { tables } = app.tree;
  const held = setup === app.look.state.setup ? app.heldSettings : null;
  let { matrix, grey_nit, key_lux } = one;
  if (held) {
    let more = 0;
    for (const key of ["stop", "iso", "shutter", "nd"]) {
      if (held[key] !== undefined) more += held[key] - one[key].stops;
    }
    const factor = 2 ** more;
    grey_nit *= factor;
    key_lux *= factor;
    if (held.kelvin !== undefined) {
      const balance = held.kelvin === null ? [1, 0, 0, 0, 1, 0, 0, 0, 1]
        : between(tables.balances.kelvin, tables.balances.matrices, held.kelvin);
      matrix = product(tables.srgb, balance).map((value) => value / grey_nit);
    } else matrix = matrix.map((/** @type {number} */ value) => value / factor);
  }
  return { matrix, tone, first: one.first, grey_nit, key_lux, highlight_stops: one.highlight_stops, shadow_stops: one.shadow_stops };
}
