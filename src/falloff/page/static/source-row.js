// One source in the list: on and off, its dim, its colour, and what it does at the chosen spot.

import { el, say } from "./dom.js";
import { perCent, stopsAgainst, stopsTenths, stopsThirds } from "./format.js";
import { gainAt, knobOf } from "./gains.js";
import { Hand } from "./hand.js";
import { luminanceOf } from "./levels.js";
import { shownSetup } from "./mixing.js";

/** Where a light's knob stood before it was put out, by name: this window's memory. @type {Map<string, number>} */
const lastKnobs = new Map();

/**
 * @param {any} app @param {string} name of the source
 * @returns {any} a list item; `.show(level)` brings it up to date, `.close()` takes it down
 */
export function sourceRow(app, name) {
  const source = () => app.tree.sources[name];
  const number = el("span", { class: "source-number" });
  const called = el("strong", { class: "source-name" }, name);
  const waits = el("span", { class: "tag waits", hidden: true, title: "Its light waits for the trace" }, "waits");
  const who = el("div", { class: "source-who" }, number, called, waits);
  const alone = el("button", { type: "button", class: "toggle source-alone", aria: { pressed: "false", label: `${name} alone` } }, "Alone");
  alone.title = `See and meter the light of ${name} alone`;
  alone.addEventListener("click", () => app.look.set({ alone: app.look.state.alone === name ? null : name }));
  const dims = source().dims;
  const light = dims ? dimParts(app, name) : daylightParts(app, name);
  const spot = spotParts();
  const facts = factParts(app, name);
  const row = el("li", { class: "source" },
    who, light.on, ...light.nodes, alone, spot.node, facts.node);
  row.classList.toggle("dims", dims);

  row.show = (/** @type {any} */ { level, pending, alone: only }) => {
    const told = source();
    if (!told) return;
    say(number, told.number === null ? "" : String(told.number));
    waits.hidden = !pending;
    alone.setAttribute("aria-pressed", String(only === name));
    light.show();
    spot.show(level, name);
    facts.show();
    who.title = facts.words();
  };
  row.close = () => {
    light.close();
    facts.close();
  };
  return row;
}

/** @param {any} app @param {string} name */
function knobNow(app, name) {
  const held = app.held.get(name)?.knob;
  if (held !== undefined) return held;
  return shownSetup(app, app.look.state.setup)?.dims[name]?.knob ?? null;
}

/** On and off, the range, and the same dim as a number in per cent and in stops. */
function dimParts(app, name) {
  const source = () => app.tree.sources[name];
  const weights = () => app.tree.tables.luminance;
  const check = el("input", { type: "checkbox", aria: { label: `${name} on` } });
  const on = el("label", { class: "source-on" }, check, el("span", {}, "On"));
  const range = el("input", { type: "range", min: "0", max: "100", step: "0.5", class: "source-range", aria: { label: `${name}, dim` } });
  const percent = el("input", { type: "text", inputMode: "decimal", autocomplete: "off", aria: { label: `${name}, per cent of its dimmer` } });
  const stops = el("input", { type: "text", inputMode: "text", autocomplete: "off", aria: { label: `${name}, stops of light under full` } });
  const hand = new Hand(app,
    (knob) => app.hold(name, knob === null ? null : { knob }),
    (knob) => [{ do: "dim", source: name, knob: Math.round(knob * 1000) / 1000 }]);

  range.addEventListener("input", () => hand.move(Number(range.value) / 100));
  range.addEventListener("change", () => hand.end(Number(range.value) / 100));
  check.addEventListener("change", () => {
    const knob = knobNow(app, name) ?? 1;
    if (!check.checked && knob > 0) lastKnobs.set(name, knob);
    hand.set(check.checked ? (lastKnobs.get(name) ?? 1) : 0);
  });
  percent.addEventListener("change", () => {
    const asked = numberOf(percent.value.replace("%", ""));
    if (asked === null) app.say(`${name}: ${percent.value} is no number of per cent.`, "refused");
    else hand.set(Math.min(1, Math.max(0, asked / 100)));
    percent.dataset.told = "";
  });
  stops.addEventListener("change", () => {
    const asked = stopsOf(stops.value);
    if (asked === null) app.say(`${name}: ${stops.value} is no number of stops; write −1, or −1 1/3.`, "refused");
    else hand.set(knobOf(source(), 2 ** Math.min(0, asked), weights()));
    stops.dataset.told = "";
  });
  for (const field of [percent, stops]) field.addEventListener("focus", () => field.select());

  const show = () => {
    const knob = knobNow(app, name);
    const there = knob !== null;
    for (const input of [check, range, percent, stops]) input.disabled = !there;
    const at = there ? knob : 0;
    if (at > 0) lastKnobs.set(name, at);
    check.checked = at > 0;
    const shown = String(Math.round(at * 1000) / 10);
    if (!hand.moving && range.value !== shown) range.value = shown;
    const full = luminanceOf(gainAt(source(), 1), weights());
    const share = full > 0 ? luminanceOf(gainAt(source(), at), weights()) / full : 0;
    const under = share > 0 ? stopsTenths(Math.log2(share)).replace("-", "−") : "off";
    put(percent, shown);
    put(stops, under);
    range.setAttribute("aria-valuetext", share > 0 ? `${shown} per cent, ${under} stops` : "off");
  };
  const unit = (/** @type {any} */ input, /** @type {string} */ words, /** @type {string} */ kind) =>
    el("span", { class: `with-unit ${kind}` }, input, el("span", { class: "unit", aria: { hidden: "true" } }, words));
  return { on, nodes: [range, unit(percent, "%", "source-percent"), unit(stops, "stops", "source-stops")], show, close: () => hand.close() };
}

/** Daylight has no dim: it can only be left out of what this window shows. */
function daylightParts(app, name) {
  const check = el("input", { type: "checkbox", checked: true, aria: { label: `${name} shown` } });
  const on = el("label", { class: "source-on", title: `See the room with or without ${name}; the scene stays as it is` },
    check, el("span", {}, "Shown"));
  const words = el("span", { class: "source-nodim" });
  check.addEventListener("change", () => {
    const unseen = (app.look.state.unseen ?? []).filter((/** @type {string} */ one) => one !== name);
    app.look.set({ unseen: check.checked ? unseen : [...unseen, name] });
  });
  const show = () => {
    check.checked = !(app.look.state.unseen ?? []).includes(name);
    say(words, check.checked ? "from outside, no dim" : "left out of this window's picture and levels");
  };
  return { on, nodes: [words], show, close: () => {} };
}

/** What the source does at the chosen spot. */
function spotParts() {
  const share = el("span", { class: "share-text" });
  const bar = el("span", { class: "bar", aria: { hidden: "true" } });
  const level = el("span", { class: "source-level" });
  const node = el("div", { class: "source-spot" }, bar, share, level);
  let told = "";
  return {
    node,
    /** @param {import("./levels.js").Level | undefined} reading @param {string} name */
    show(reading, name) {
      const part = reading?.parts.find((one) => one.source === name);
      const text = part ? perCent(part.share) : "–";
      say(share, text);
      say(level, part && reading ? stopsThirds(part.stops, reading.reference) : "");
      const wide = part ? `${(100 * part.share).toFixed(1)}%` : "0%";
      if (wide !== told) bar.style.setProperty("--share", wide);
      told = wide;
      node.title = part && reading
        ? `At ${reading.name}, ${name} alone is ${stopsAgainst(part.stops, reading.reference)}: ${text} of the light there`
        : "";
    },
  };
}

/** How soft it is, what it draws, its colour. */
function factParts(app, name) {
  const text = el("span", { class: "fact-text" });
  const node = el("div", { class: "source-facts" }, text);
  const colour = app.tree.sources[name].hues ? colourField(app, name) : null;
  if (colour) node.append(colour.node);
  const show = () => {
    const source = app.tree.sources[name];
    const seen = softnessOf(app, name);
    const soft = seen ? `${round(seen.across_deg)}° across` : "";
    const watts = source.watts === null ? "" : `${round(source.watts)} W`;
    const power = source.circuit ? `${watts} on ${source.circuit}` : watts;
    // Its kelvin stands in the field beside it.
    const what = source.hues ? source.says.replace(/, \d+ K$/, "") : source.says;
    say(text, [soft, power, what].filter(Boolean).join(", "));
    text.title = [
      seen ? `Seen from ${seen.subject} it is ${soft}: the wider, the softer.` : "",
      watts ? `${watts} rated${source.circuit ? `, on circuit ${source.circuit}` : ""}.` : "",
      source.says,
    ].filter(Boolean).join("\n");
    colour?.show();
  };
  return { node, show, words: () => text.title, close: () => colour?.close() };
}

/** From the subject of the chosen reading where it has one, else from the first subject. */
function softnessOf(app, name) {
  const { setup } = app.look.state;
  const found = app.meter.of(setup)?.softness?.[name];
  if (!found) return null;
  const wanted = app.spotSubject ?? "";
  const subject = found[wanted] ? wanted : Object.keys(found)[0];
  return subject ? { subject, ...found[subject] } : null;
}

/** @param {any} app @param {string} name */
function colourField(app, name) {
  const kelvins = app.tree.sources[name].hues.kelvin;
  const [low, high] = [kelvins[0], kelvins[kelvins.length - 1]].map((/** @type {number} */ one) => Math.round(one / 50) * 50);
  const input = el("input", { type: "number", min: String(low), max: String(high), step: "50", aria: { label: `${name}, colour in kelvin` } });
  const hand = new Hand(app,
    (kelvin) => app.hold(name, kelvin === null ? null : { kelvin }),
    (kelvin) => [{ do: "colour", source: name, kelvin }]);
  const asked = () => Math.min(high, Math.max(low, Number(input.value)));
  input.addEventListener("input", () => {
    const kelvin = Number(input.value);
    if (kelvin >= low && kelvin <= high) hand.move(kelvin);
  });
  input.addEventListener("change", () => {
    if (Number(input.value)) hand.end(asked());
    show();
  });
  const show = () => {
    if (hand.busy || document.activeElement === input) return;
    input.value = String(Math.round(app.tree.sources[name].kelvin ?? 0));
  };
  return { node: el("label", { class: "with-unit fact-colour" }, input, el("span", { class: "unit" }, "K")), show, close: () => hand.close() };
}

/** A field's text, unless somebody is typing in it. @param {any} field @param {string} text */
function put(field, text) {
  if (field.dataset.told === text) return;
  if (document.activeElement === field && field.value !== field.dataset.told && field.dataset.told) return;
  field.value = text;
  field.dataset.told = text;
}

/** @param {string} text */
function numberOf(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  const value = Number(plain);
  return plain !== "" && Number.isFinite(value) ? value : null;
}

/** "−1", "-1.3", "-1 1/3", "2/3", "off". @param {string} text */
function stopsOf(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".").replace(/\s*stops?$/, "");
  if (plain === "off") return -Infinity;
  const whole = numberOf(plain);
  const found = /^(-?)\s*(?:(\d+)\s+)?(\d+)\/(\d+)$/.exec(plain);
  const size = found ? Number(found[2] ?? 0) + Number(found[3]) / Number(found[4]) : Math.abs(whole ?? NaN);
  // Stops of light under full: with or without a minus they are taken off.
  return Number.isFinite(size) ? -size : null;
}

/** @param {number} value */
function round(value) {
  return value < 9.95 ? Number(value.toFixed(1)) : Math.round(value);
}
