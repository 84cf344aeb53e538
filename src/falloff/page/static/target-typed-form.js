// The form of a target of another kind than a level at one point: what is written of it, typed anew.

import { el, say } from "./dom.js";
import { LIMITS, field, select, setupChoices, setupsKey } from "./target-form.js";

/** What each key is called, and how it is written. */
const KEYS = {
  level: ["Level", "1 1/3 stops"],
  ratio: ["Ratio", "4:1"],
  value: ["Meter's number", "320 lx"],
  even: ["Even within", "1/2 stop"],
  colour: ["Colour of the light", "3200 K"],
  mired: ["Warmer by, mired", "60"],
  hue: ["Hue", "210 deg"],
  limit: ["How it is wanted", ""],
  tolerance: ["Give or take", ""],
  saturation: ["Saturation, at least", "0.3"],
  green: ["Green, CC", "0 CC"],
  green_tolerance: ["Green, give or take", "10 CC"],
  weight: ["Counts", "1"],
};

/**
 * @param {any} app @param {string} name of a target of the kind "other" @param {() => void} done
 *   called when it is changed, deleted or left
 */
export function typedForm(app, name, done) {
  const { tree } = app;
  const known = tree.targets[name];
  const inputs = new Map(Object.entries(known.typed).map(([key, text]) => [key, inputOf(key, /** @type {string} */ (text))]));
  const where = select("", setupChoices(tree, app.look.state.setup, known), setupsKey(known.setups));
  const why = el("p", { class: "why", role: "alert" });
  const take = el("button", { type: "button", class: "leftmost", on: { click: () => {
    if (app.edit([{ do: "untarget", name }])) app.say(`${name} is wanted no more; undo brings it back.`);
    done();
  } } }, "Delete");
  const form = el("form", { class: "target-form", aria: { label: `What is wanted: ${name}` } },
    el("div", { class: "form-line" }, el("h3", {}, name), el("span", { class: "quiet" }, `at ${known.readings.join(", ")}`)),
    el("div", { class: "form-pairs" },
      ...[...inputs].map(([key, input]) => field(KEYS[key]?.[0] ?? key, input)),
      tree.setup_order.length > 1 ? field("In", where) : null),
    why,
    el("div", { class: "box-end" }, take, el("span", { class: "form-note" }, "Readings and kind: in the scene file."), el("button", { type: "button", on: { click: done } }, "Cancel"),
      el("button", { type: "submit", class: "main" }, "Change")));
  form.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    done();
  });
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const typed = Object.fromEntries([...inputs].map(([key, input]) => [key, input.value.trim()]).filter(([key, text]) => text !== known.typed[key]));
    const setups = JSON.parse(where.value);
    const moved = setupsKey(setups) !== setupsKey(known.setups);
    if (Object.keys(typed).length === 0 && !moved) {
      done();
      return;
    }
    const seq = app.edit([{ do: "retarget", name, typed, ...(moved ? { setups } : {}) }]) ? app.link.seq : null;
    if (seq === null) return;
    // What is typed may be no number of its kind: the form stays until the file has taken it.
    const stop = app.link.heard.watch((/** @type {any} */ message) => {
      if (message.seq !== seq || !["ack", "refused"].includes(message.t)) return;
      stop();
      if (message.t === "ack") done();
      else say(why, message.why.join(" "));
    });
  });
  const [first] = inputs.values();
  return { node: form, focus: () => first.focus() };
}

/** @param {string} key @param {string} text */
function inputOf(key, text) {
  if (key === "limit") return select("", LIMITS, text);
  return el("input", { type: "text", autocomplete: "off", value: text, placeholder: KEYS[key]?.[1] ?? "" });
}
