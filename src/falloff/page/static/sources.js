// All sources of the scene, a line each; below them what hangs on which circuit.

import { circuits } from "./circuits.js";
import { el, keyed, say } from "./dom.js";
import { illuminance, luminance, stopsThirds } from "./format.js";
import { nextFrame } from "./hand.js";
import { levelsOf, spotOf } from "./levels.js";
import { sourceRow } from "./source-row.js";

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-labelledby", "sources-name");
  const spot = el("select", { id: "sources-spot", title: "The reading at which the sources are weighed" });
  const total = el("output", { class: "spot-level" });
  const value = el("span", { class: "spot-value" });
  const list = el("ul", { class: "sources-list" });
  const power = circuits(app);
  root.append(
    el("div", { class: "panel-head" }, el("h2", { id: "sources-name" }, "Sources"),
      el("label", { class: "spot-choice" }, el("span", {}, "at"), spot), total, value),
    list, power.node);
  spot.addEventListener("change", () => app.look.set({ spot: spot.value }));

  /** @type {Map<string, any>} */
  const rows = new Map();
  const kindOf = (/** @type {string} */ name) => {
    const source = app.tree.sources[name];
    return `${name}|${source.dims}|${Boolean(source.hues)}`;
  };

  const show = nextFrame(() => {
    const { tree } = app;
    const { setup, alone } = app.look.state;
    if (!tree?.setups[setup]) return;
    const names = lightsFirst(tree);
    const keys = names.map(kindOf);
    for (const [key, row] of rows) {
      if (keys.includes(key)) continue;
      row.close();
      rows.delete(key);
    }
    keyed(list, keys, (key) => {
      const row = sourceRow(app, key.split("|")[0]);
      rows.set(key, row);
      return row;
    });
    fillSpots(spot, tree.reading_order, spotOf(app));
    // Weighed with all of them, also while one is seen alone: its share is what is asked for.
    const level = levelsOf(app, setup, app.gains(setup, { alone: null })).get(spotOf(app));
    app.spotSubject = level?.subject ?? null;
    const pending = app.light.of(setup)?.pending ?? new Set();
    names.forEach((/** @type {string} */ name, /** @type {number} */ k) => {
      rows.get(keys[k]).show({ level, alone, pending: pending.has(name) });
    });
    say(total, level ? stopsThirds(level.stops, level.reference) : "");
    say(value, level ? amount(level, tree.units) : "");
    power.show();
  });

  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look, show),
    app.light.watch(show),
    app.meter.watch(show),
    app.watchGains(show),
    app.watchExposure(show),
  ];
  return () => {
    stops.forEach((stop) => stop());
    rows.forEach((row) => row.close());
    root.replaceChildren();
  };
}

/** @param {import("./levels.js").Level} level @param {"metric" | "imperial"} units */
function amount(level, units) {
  return level.instrument === "spot" ? luminance(level.value, units) : illuminance(level.value, units);
}

/** @param {any} select @param {string[]} names @param {string} chosen */
function fillSpots(select, names, chosen) {
  const key = names.join("\n");
  if (select.dataset.names !== key) {
    select.dataset.names = key;
    select.replaceChildren(...names.map((name) => el("option", { value: name }, name)));
    if (names.length === 0) select.append(el("option", { value: "" }, "no reading yet"));
  }
  select.disabled = names.length === 0;
  if (select.value !== chosen) select.value = chosen;
}

/** The sources that can be dimmed, then daylight. @param {any} tree @returns {string[]} */
function lightsFirst(tree) {
  const dims = (/** @type {string} */ name) => tree.sources[name].dims;
  return [...tree.source_order.filter(dims), ...tree.source_order.filter((/** @type {string} */ name) => !dims(name))];
}
