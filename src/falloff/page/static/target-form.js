// The form that says what is wanted at a reading: a level, against what, how near, how much it counts.

import { el, say } from "./dom.js";
import { levelsOf } from "./levels.js";
import { stopsRead, stopsWritten } from "./wants.js";

export const LIMITS = [["equal", "meets"], ["at most", "is at most"], ["at least", "is at least"]];
const NEAR = [[1 / 6, "± 1/6"], [1 / 3, "± 1/3"], [1 / 2, "± 1/2"], [2 / 3, "± 2/3"], [1, "± 1"]];
const WEIGHTS = [[0.5, "half as much"], [1, "as the others"], [2, "twice as much"], [4, "four times as much"]];

/**
 * @param {any} app
 * @param {{target?: string, reading?: string}} what an existing target to change, or the reading of a new one
 * @param {() => void} done called when it is set, deleted or left
 */
export function targetForm(app, { target: name, reading }, done) {
  const { tree } = app;
  const known = name === undefined ? null : tree.targets[name];
  const setup = app.look.state.setup;
  const about = known?.reading ?? reading ?? tree.setups[setup]?.key ?? tree.reading_order[0] ?? "";
  const readings = select("Reading", tree.reading_order.map((/** @type {string} */ one) => [one, one]), about);
  const limit = select("How it is wanted", LIMITS, known?.limit ?? "equal");
  const level = el("input", { type: "text", inputMode: "text", required: true, autocomplete: "off", class: "stops-field", aria: { label: "Stops" } });
  const over = el("select", { aria: { label: "Over what" } });
  const near = select("", withOwn(NEAR, known?.tolerance_stops ?? 1 / 3, (one) => `± ${stopsWritten(one)}`), String(known?.tolerance_stops ?? 1 / 3));
  const weight = select("", withOwn(WEIGHTS, known?.weight ?? 1, (one) => `${one} times as much`), String(known?.weight ?? 1));
  const where = select("", setupChoices(tree, setup, known), setupsKey(known?.setups ?? []));
  const why = el("p", { class: "why", role: "alert" });

  const fillOver = () => {
    const chosen = over.options.length > 0 ? over.value : (known?.over ?? "");
    const spot = tree.readings[readings.value]?.instrument === "spot";
    const others = tree.reading_order.filter((/** @type {string} */ one) => one !== readings.value);
    over.replaceChildren(el("option", { value: "" }, spot ? "middle grey" : "key"), ...others.map((/** @type {string} */ one) => el("option", { value: one }, one)));
    over.value = others.includes(chosen) ? chosen : "";
  };
  /** As it is now, to the third: what one wants is mostly told from that. */
  const asItIs = () => {
    const levels = levelsOf(app, setup, app.gains(setup, { alone: null }));
    const one = levels.get(readings.value);
    const other = over.value ? levels.get(over.value) : null;
    const stops = one && other !== undefined ? one.stops - (other?.stops ?? 0) : 0;
    return Number.isFinite(stops) ? Math.round(stops * 3) / 3 : 0;
  };
  fillOver();
  level.value = stopsWritten(known?.level_stops ?? asItIs());
  let typed = known !== null;
  level.addEventListener("input", () => (typed = true));
  level.addEventListener("focus", () => level.select());
  readings.addEventListener("change", () => {
    fillOver();
    if (!typed) level.value = stopsWritten(asItIs());
  });
  over.addEventListener("change", () => {
    if (!typed) level.value = stopsWritten(asItIs());
  });

  const buttons = [
    el("button", { type: "button", on: { click: done } }, "Cancel"),
    el("button", { type: "submit", class: "main" }, known ? "Change" : "Set"),
  ];
  if (known) {
    buttons.unshift(el("button", { type: "button", class: "leftmost", on: { click: () => {
      if (app.edit([{ do: "untarget", name }])) app.say(`${name} is wanted no more; undo brings it back.`);
      done();
    } } }, "Delete"));
  }
  const form = el("form", { class: "target-form", aria: { label: known ? `What is wanted: ${name}` : "What is wanted" } },
    el("div", { class: "form-line" }, el("h3", { class: known ? "" : "apart" }, known ? name : "New target"), readings, limit),
    el("div", { class: "form-line" }, level, el("span", { class: "unit" }, "stops over"), over),
    el("div", { class: "form-pairs" },
      field("Within, stops", near), field("Counts", weight), tree.setup_order.length > 1 ? field("In", where) : null),
    why,
    el("div", { class: "box-end" }, ...buttons));
  form.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    done();
  });
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const stops = stopsRead(level.value);
    if (stops === null) {
      say(why, `${level.value || "An empty field"} is no number of stops; write −1, 2/3 or 1 1/3.`);
      level.focus();
      return;
    }
    const change = {
      do: "target", ...(known ? { name } : {}), reading: readings.value, over: over.value || null, level_stops: stops,
      limit: limit.value, tolerance_stops: Number(near.value), weight: Number(weight.value), setups: JSON.parse(where.value),
    };
    if (app.edit([change])) done();
  });
  return { node: form, focus: () => (known ? level : readings).focus() };
}

/** words: its name where no label beside it says it. @param {string} words @param {any[][]} choices @param {any} value */
export function select(words, choices, value) {
  const node = el("select", words ? { aria: { label: words } } : {}, ...choices.map(([one, text]) => el("option", { value: String(one) }, text)));
  node.value = String(value);
  return node;
}

/** The choices, and what is written where it is not among them. */
function withOwn(choices, value, words) {
  const near = choices.find(([one]) => Math.abs(one - value) < 0.01);
  if (near) return choices.map((one) => (one === near ? [value, one[1]] : one));
  return [...choices, [value, words(value)]].sort((a, b) => a[0] - b[0]);
}

/** @param {string[]} setups */
export function setupsKey(setups) {
  return JSON.stringify(setups);
}

/** Everywhere, in the setup that is shown, or as it is written. */
export function setupChoices(tree, setup, known) {
  const found = [[setupsKey([]), "every setup"], [setupsKey([setup]), `${setup} alone`]];
  const own = known?.setups ?? [];
  if (!found.some(([key]) => key === setupsKey(own))) found.push([setupsKey(own), own.join(", ")]);
  return found;
}

/** @param {string} words @param {any} input */
export function field(words, input) {
  return el("label", { class: "field" }, el("span", {}, words), input);
}
