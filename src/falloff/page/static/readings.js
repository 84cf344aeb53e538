// The readings as a table: level, light, straight or bounced, from whom, and what is wanted.

import { el, keyed, say } from "./dom.js";
import { illuminance, luminance, perCent, stopsAgainst, stopsTenths } from "./format.js";
import { nextFrame } from "./hand.js";
import { levelsOf, spotOf } from "./levels.js";
import { openReadingBox } from "./reading-box.js";
import { markOf, stateWords, wantsOf } from "./wants.js";

const MOST_SHARES = 2;
const LEAST_SHARE = 0.02;
const COLUMNS = [
  ["name", "Reading"], ["level", "Stops"], ["light", "Light"], ["direct", "Direct"], ["from", "From"], ["target", "Wanted"],
];

/** What is behind the name of the first of several points: what is wanted of all stands there. */
const FIRST_POINT = / 1$/;

/** Opens the box that puts a reading at a point of the scene. @param {any} app @param {any} point */
export function takeReading(app, point) {
  openReadingBox(app, point);
}

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-labelledby", "readings-name");
  const only = el("span", { class: "tag", hidden: true });
  const add = el("button", { type: "button", title: "Or click in the picture" }, "Add reading");
  const wanted = el("button", { type: "button", class: "toggle readings-wanted", title: "What is wanted, what would help, and why (T)", aria: { expanded: "false" } }, "Wanted");
  wanted.addEventListener("click", () => app.wanted?.toggle());
  add.addEventListener("click", () => openReadingBox(app, null));
  const body = el("tbody", {});
  const head = el("tr", {}, ...COLUMNS.map(([key, words]) => el("th", { scope: "col", class: `col-${key}` }, words)),
    el("th", { scope: "col", class: "col-end" }, el("span", { class: "apart" }, "Delete")));
  const table = el("table", { aria: { labelledby: "readings-name" } }, el("thead", {}, head), body);
  const empty = el("p", { class: "empty" },
    "No reading yet. Click a face, a wall or a table in the picture: a meter is put there, and its level stands here while you move the dims.");
  root.append(el("div", { class: "panel-head" }, el("h2", { id: "readings-name" }, "Readings"), only, wanted, add),
    el("div", { class: "readings-table", tabIndex: 0, role: "region", aria: { label: "Table of readings" } }, table, empty));

  /** @type {Map<string, any>} */
  const rows = new Map();
  /** The row that was shown as chosen. @type {string | null} */
  let last = null;
  const show = nextFrame(() => {
    const { tree } = app;
    const { setup, alone, unseen } = app.look.state;
    if (!tree?.setups[setup]) return;
    const levels = levelsOf(app, setup, app.gains(setup));
    const names = [...tree.reading_order, ...[...levels.keys()].filter((name) => !tree.readings[name] && !taken.has(name))];
    keyed(body, names, (name) => {
      const row = readingRow(app, name);
      rows.set(name, row);
      return row.node;
    });
    for (const name of rows.keys()) if (!names.includes(name)) rows.delete(name);
    const chosen = spotOf(app);
    if (chosen !== last && last !== null) rows.get(chosen)?.node.scrollIntoView({ block: "nearest" });
    if (rows.has(chosen)) last = chosen;
    const wants = wantsOf(app, setup, levels);
    for (const name of names) {
      const of = [name, name.replace(FIRST_POINT, "")];
      const these = wants.filter(({ target }) => (target.kind === "level" ? target.reading === name : target.readings.some((/** @type {string} */ one) => of.includes(one))));
      rows.get(name).show({ level: levels.get(name), wants: these, chosen: chosen === name, own: Boolean(tree.readings[name]) });
    }
    say(wanted, summary(wants));
    wanted.setAttribute("aria-expanded", String(Boolean(app.look.state.wanted)));
    table.hidden = names.length === 0;
    empty.hidden = names.length > 0;
    const partly = alone ? `${alone} alone` : unseen.length > 0 ? `without ${unseen.join(", ")}` : "";
    only.hidden = !partly;
    say(only, partly);
  });
  // Readings that were just deleted stay in the matrix until the next trace.
  const taken = new Set();
  let before = app.tree?.reading_order ?? [];
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, (/** @type {any} */ tree) => {
      for (const name of before) if (!tree.readings[name]) taken.add(name);
      for (const name of tree.reading_order) taken.delete(name);
      before = tree.reading_order;
      show();
    }),
    app.look.watch((/** @type {any} */ look) => look, show),
    app.meter.watch(show),
    app.answers.watch((/** @type {any} */ all) => all, show),
    app.watchGains(show),
    app.watchExposure(show),
  ];
  return () => {
    stops.forEach((stop) => stop());
    root.replaceChildren();
  };
}

/** @param {any} app @param {string} name */
function readingRow(app, name) {
  const radio = el("input", { type: "radio", name: "spot", aria: { label: `${name}: weigh the sources here` } });
  radio.addEventListener("change", () => app.look.set({ spot: name }));
  const kind = el("span", { class: "reading-kind" });
  const label = el("label", { class: "reading-name", title: name }, radio, el("span", { class: "reading-text" }, name), kind);
  const level = el("td", { class: "col-level" });
  const light = el("td", { class: "col-light" });
  const direct = el("td", { class: "col-direct" });
  const from = el("div", { class: "shares" });
  const target = el("td", { class: "col-target" });
  const ask = el("button", { type: "button", class: "plain ask-why", title: `Why ${name} reads as it does`, aria: { label: `Why ${name} reads as it does` } }, "?");
  ask.addEventListener("click", () => app.wanted?.open("why", { reading: name }));
  const take = el("button", { type: "button", class: "plain", aria: { label: `Delete reading ${name}` }, title: `Delete reading ${name}` }, "×");
  take.addEventListener("click", () => {
    if (app.edit([{ do: "delete", name }])) app.say(`Reading ${name} deleted; undo brings it back.`);
  });
  const node = el("tr", {}, el("th", { scope: "row", class: "col-name" }, label), level, light, direct,
    el("td", { class: "col-from" }, from), target, el("td", { class: "col-end" }, ask, take));

  return {
    node,
    /** @param {any} told */
    show({ level: read, wants, chosen, own }) {
      const { units } = app.tree;
      radio.checked = chosen;
      radio.disabled = take.hidden = ask.hidden = !own;
      node.classList.toggle("chosen", chosen);
      const instrument = read?.instrument ?? app.tree.readings[name]?.instrument ?? "";
      say(kind, instrument === "flat" ? "" : instrument);
      if (!read) {
        say(level, "…");
        for (const cell of [light, direct]) say(cell, "");
        level.title = "waits for the trace";
        from.replaceChildren();
        if (own) wantedCell(app, target, name, wants);
        return;
      }
      say(level, stopsTenths(read.stops).replace("-", "−"));
      level.title = stopsAgainst(read.stops, read.reference);
      say(light, read.instrument === "spot" ? luminance(read.value, units) : illuminance(read.value, units));
      say(direct, perCent(read.direct).replace("none", "0\u00a0%"));
      direct.title = `${perCent(read.direct)} straight from the sources, ${perCent(1 - read.direct)} bounced`;
      shares(from, read);
      wantedCell(app, target, name, wants);
    },
  };
}

/** The largest shares as text over small bars. @param {any} root @param {import("./levels.js").Level} level */
function shares(root, level) {
  const ranked = [...level.parts].filter((part) => part.share >= LEAST_SHARE).sort((a, b) => b.share - a.share).slice(0, MOST_SHARES);
  keyed(root, ranked.map((part) => part.source), (source) => el("span", { class: "share" },
    el("span", { class: "share-who" }, source), el("span", { class: "share-text" }), el("span", { class: "bar", aria: { hidden: "true" } })));
  ranked.forEach((part, k) => {
    const [, text, bar] = root.children[k].children;
    say(text, perCent(part.share));
    bar.style.setProperty("--share", `${(100 * part.share).toFixed(1)}%`);
  });
  root.title = level.parts.map((part) => `${part.source} ${perCent(part.share)}`).join(", ");
}

/** @param {import("./wants.js").Want[]} wants */
function summary(wants) {
  const told = wants.filter((want) => want.state !== "");
  if (told.length === 0) return "Wanted";
  return `Wanted: ${told.filter((want) => want.state === "met").length} of ${told.length} met`;
}

/**
 * What is wanted here beside what is got: in words, with a mark; a press opens it to be set.
 * @param {any} app @param {HTMLElement} cell @param {string} reading @param {import("./wants.js").Want[]} wants
 */
function wantedCell(app, cell, reading, wants) {
  const told = wants.map((want) => ({ name: want.name, short: shortOf(want), mark: markOf(want), state: want.state, title: titleOf(want) }));
  const key = JSON.stringify(told);
  if (cell.dataset.told === key) return;
  cell.dataset.told = key;
  const had = cell.contains(document.activeElement);
  const buttons = told.map(({ name, short, mark, state, title }) => el("button", {
    type: "button", class: "plain wanted", title, aria: { label: `${title}. Change what is wanted` },
    on: { click: () => app.wanted?.open("targets", { target: name }) },
  }, el("span", { class: "wanted-short" }, short), mark ? el("span", { class: `mark ${state === "met" ? "met" : "missed"}` }, mark) : null));
  if (buttons.length === 0) {
    buttons.push(el("button", {
      type: "button", class: "plain wanted none", title: `Say what is wanted at ${reading}`, aria: { label: `Say what is wanted at ${reading}` },
      on: { click: () => app.wanted?.open("targets", { reading }) },
    }, "+"));
  }
  cell.replaceChildren(...buttons);
  if (had) buttons[0].focus();
}

/** @param {import("./wants.js").Want} want */
function titleOf(want) {
  const { name, asks, got } = want;
  return [`${name}: wanted ${asks}${got ? `, got ${got}` : ""}`, stateWords(want)].filter(Boolean).join(": ");
}

/** @param {import("./wants.js").Want} want */
function shortOf({ name, target }) {
  if (target.kind !== "level") return name;
  const level = stopsTenths(target.level_stops).replace("-", "−");
  const told = target.limit === "equal" ? level : `${target.limit === "at most" ? "≤" : "≥"} ${level}`;
  return target.over ? `Δ ${told}` : told;
}
