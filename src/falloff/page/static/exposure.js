// The camera's settings in this setup, and the light that makes its middle grey.

import { el, say } from "./dom.js";
import { illuminance } from "./format.js";
import { Hand, nextFrame } from "./hand.js";

// Source: the daylight of 6504 K, CIE standard illuminant D65: no balance set is balance for it.
const D65_KELVIN = 6504;
const LOWEST_KELVIN = 2000;
const HIGHEST_KELVIN = 12000;
const SELECTS = [["stop", "Stop"], ["iso", "ISO"], ["shutter", "Shutter"], ["nd", "ND"]];

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  const heading = el("h2", { id: "exposure-name", class: "apart" }, "Exposure");
  const level = el("output", { class: "key-light", title: "The light on a surface turned to it that is exposed as middle grey" });
  root.setAttribute("aria-labelledby", "exposure-name");
  const camera = el("select", {});
  const fields = new Map(SELECTS.map(([key]) => [key, el("select", {})]));
  const balance = balanceField(app);
  const hands = new Map(SELECTS.map(([key]) => [key, selectHand(app, key, fields.get(key))]));
  camera.addEventListener("change", () => app.edit([{ do: "setting", key: "camera", text: camera.value }]));
  root.append(
    heading,
    labelled("Camera", camera, "setting-camera"),
    ...SELECTS.map(([key, words]) => labelled(words, fields.get(key), `setting-${key}`)),
    balance.node,
    level,
  );

  const one = () => app.tree.setups[app.look.state.setup];
  const show = nextFrame(() => {
    const setup = one();
    if (!setup) return;
    options(camera, app.tree.cameras.map((/** @type {string} */ name) => [name, name]), setup.camera);
    for (const [key, select] of fields) {
      const choices = app.tree.tables.choices[key].map(([text, stops]) => [text, worded(key, text, stops)]);
      if (!hands.get(key)?.busy) options(select, choices, chosenText(app, key, setup[key]));
    }
    balance.show(setup.balance?.kelvin ?? null);
    told();
  });
  const told = () => {
    const exposure = app.exposure(app.look.state.setup);
    if (!exposure) return;
    const { key_lux } = exposure;
    const [first, second] = app.tree.units === "imperial" ? ["imperial", "metric"] : ["metric", "imperial"];
    say(level, `key ${illuminance(key_lux, first)} (${illuminance(key_lux, second)})`);
  };

  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
    app.watchExposure(nextFrame(told)),
  ];
  return () => {
    stops.forEach((stop) => stop());
    hands.forEach((hand) => hand.close());
    balance.close();
    root.replaceChildren();
  };
}

/** The choice that stands for what is set: the same text, or one of the same light. */
function chosenText(app, key, set) {
  const found = app.tree.tables.choices[key].find(([text, stops]) => text === set.text || Math.abs(stops - set.stops) < 1e-6);
  return found ? found[0] : set.text;
}

/** @param {string} key @param {string} text @param {number} stops */
function worded(key, text, stops) {
  if (key !== "nd") return key === "shutter" ? text.replace(" deg", "°") : text;
  return stops === 0 ? "none" : text;
}

/** A choice is shown at once and sent as a step. @param {any} app @param {string} key @param {any} select */
function selectHand(app, key, select) {
  const stopsOf = (/** @type {string} */ text) => app.tree.tables.choices[key].find(([one]) => one === text)?.[1];
  const hand = new Hand(app, (text) => {
    const stops = text === null ? undefined : stopsOf(text);
    if (text === null) app.holdSettings(null);
    else if (stops !== undefined) app.holdSettings({ [key]: stops });
  }, (text) => [{ do: "setting", key, text }]);
  select.addEventListener("change", () => hand.end(select.value));
  return hand;
}

/** White balance: a range and a number that say the same. @param {any} app */
function balanceField(app) {
  const limits = { min: String(LOWEST_KELVIN), max: String(HIGHEST_KELVIN), step: "50" };
  const range = el("input", { type: "range", ...limits, aria: { label: "White balance" } });
  const number = el("input", { type: "number", ...limits, step: "1", id: "balance-kelvin" });
  const unit = el("span", { class: "unit" }, "K");
  const node = el("div", { class: "setting setting-balance" },
    el("label", { for: "balance-kelvin" }, "White balance"), range, number, unit);
  const hand = new Hand(app,
    (kelvin) => app.holdSettings(kelvin === null ? null : { kelvin }),
    (kelvin) => [{ do: "setting", key: "balance", text: `${Math.round(kelvin)} K` }]);
  const put = (/** @type {number} */ kelvin, /** @type {boolean} */ done) => {
    range.value = String(kelvin);
    number.value = String(Math.round(kelvin));
    say(unit, "K");
    if (done) hand.end(kelvin);
    else hand.move(kelvin);
  };
  range.addEventListener("input", () => put(Number(range.value), false));
  range.addEventListener("change", () => put(Number(range.value), true));
  number.addEventListener("change", () => {
    const asked = Number(number.value);
    if (!asked) return;
    put(Math.min(HIGHEST_KELVIN, Math.max(LOWEST_KELVIN, asked)), true);
  });
  return {
    node,
    /** @param {number | null} kelvin */
    show(kelvin) {
      if (hand.busy || document.activeElement === number) return;
      range.value = String(kelvin ?? D65_KELVIN);
      number.value = String(Math.round(kelvin ?? D65_KELVIN));
      say(unit, kelvin === null ? "as D65" : "K");
      range.setAttribute("aria-valuetext", kelvin === null ? "as D65" : `${Math.round(kelvin)} kelvin`);
    },
    close: () => hand.close(),
  };
}

/** Fills a select with what there is, and with what is set where that is not among it. */
function options(select, choices, value) {
  const all = choices.some(([text]) => text === value) ? choices : [[value, value], ...choices];
  const key = JSON.stringify(all);
  if (select.dataset.choices !== key) {
    select.dataset.choices = key;
    select.replaceChildren(...all.map(([text, words]) => el("option", { value: text }, words)));
  }
  if (select.value !== value) select.value = value;
}

/** @param {string} words @param {any} input @param {string} name */
function labelled(words, input, name) {
  input.id = name;
  return el("div", { class: `setting ${name}` }, el("label", { for: name }, words), input);
}
