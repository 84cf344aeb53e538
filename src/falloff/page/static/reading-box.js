// The box that puts a meter at a point: its name, what it is, which way it looks.

import { el, say } from "./dom.js";

const METRES_PER_FOOT = 0.3048; // source: the international foot
const INSTRUMENTS = [
  ["flat", "Flat", "light on a surface, as a flat meter reads it"],
  ["dome", "Dome", "light on a face from all its front"],
  ["spot", "Spot", "how bright it is from the camera"],
];
const AXES = [["x_m", "Right"], ["y_m", "Up the plan"], ["z_m", "Height"]];

/**
 * Opens the box.
 * @param {any} app
 * @param {{x_m: number, y_m: number, z_m: number, normal?: number[], surface?: string} | null} point
 *   of the scene; null: it is typed in
 */
export function openReadingBox(app, point) {
  const metres = app.tree.units !== "imperial";
  const unit = metres ? "m" : "ft";
  const shown = (/** @type {number} */ value) => (metres ? value : value / METRES_PER_FOOT).toFixed(2);
  const name = el("input", { type: "text", required: true, value: freeName(app), autocomplete: "off" });
  const start = point ?? middle(app);
  const places = new Map(AXES.map(([key]) => [key, el("input", { type: "text", inputMode: "decimal", required: true, value: shown(start[key]) })]));
  const typed = new Map([...places].map(([key, input]) => [key, input.value]));
  const kinds = INSTRUMENTS.map(([value, words, says], k) => choice("instrument", value, words, says, k === 0));
  const aim = el("select", {}, ...aims(app, point).map(([value, words]) => el("option", { value }, words)));
  const aimField = el("label", { class: "field" }, el("span", {}, "Looks"), aim);
  const why = el("p", { class: "why", role: "alert" });
  const form = el("form", { method: "dialog" },
    el("h2", {}, "New reading"),
    el("p", { class: "quiet" }, point ? `On ${point.surface ?? "the surface that you clicked"}.`
      : "Quicker: click in the picture, or press Enter on it, and the place is filled in."),
    el("label", { class: "field" }, el("span", {}, "Name"), name),
    el("fieldset", { class: "choices" }, el("legend", {}, "Meter"), ...kinds.map((one) => one.node)),
    aimField,
    el("fieldset", { class: "place-fields" }, el("legend", {}, `Place, ${unit}`),
      ...AXES.map(([key, words]) => el("label", { class: "field" }, el("span", {}, words), places.get(key)))),
    why,
    el("div", { class: "box-end" },
      el("button", { type: "button", on: { click: () => box.close() } }, "Cancel"),
      el("button", { type: "submit", value: "wanted" }, "Take, and say what is wanted"),
      el("button", { type: "submit", class: "main" }, "Take reading")));
  const box = el("dialog", { class: "box reading-box", aria: { label: "New reading" } }, form);
  const chosen = () => kinds.find((one) => one.input.checked)?.input.value ?? "flat";
  const tick = () => (aimField.hidden = chosen() === "spot");
  form.addEventListener("change", tick);
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    /** @type {Record<string, any>} */
    const change = { do: "reading", name: name.value.trim(), instrument: chosen() };
    for (const [key, input] of places) {
      const asked = Number(input.value.replace("−", "-").replace(",", "."));
      if (input.value.trim() === "" || !Number.isFinite(asked)) {
        say(why, `A place is three numbers in ${metres ? "metres" : "feet"}; ${input.value || "an empty field"} is none.`);
        input.focus();
        return;
      }
      // A place that was clicked is kept to the millimetre unless it was typed over.
      change[key] = input.value === typed.get(key) ? start[key] : asked * (metres ? 1 : METRES_PER_FOOT);
    }
    if (change.instrument !== "spot") {
      if (aim.value === "square") change.normal = point?.normal;
      else change.aim = aim.value;
    }
    if (app.tree.readings[change.name]) {
      say(why, `There is a reading ${change.name} already: give it another name.`);
      name.focus();
      return;
    }
    if (!app.edit([change])) return;
    app.look.set({ spot: change.name });
    box.close();
    if (/** @type {any} */ (event).submitter?.value === "wanted") wantThere(app, change.name);
  });
  box.addEventListener("close", () => box.remove());
  document.body.append(box);
  tick();
  box.showModal();
  name.select();
}

/** Says what is wanted at a reading as soon as the scene has it. @param {any} app @param {string} name */
function wantThere(app, name) {
  const stop = app.store.watch((/** @type {any} */ tree) => name in tree.readings, (/** @type {boolean} */ there) => {
    if (there) queueMicrotask(() => { stop(); app.wanted?.open("targets", { reading: name }); });
  });
}

/** Which ways it can look: square to what was clicked, at the camera, at a source or a face. */
function aims(app, point) {
  const found = point?.normal ? [["square", "square to the surface"]] : [];
  found.push(["camera", "at the camera"]);
  for (const name of app.tree.source_order) {
    if (app.tree.sources[name].kind !== "sun") found.push([name, `at ${name}`]);
  }
  for (const name of app.tree.subjects) found.push([`${name}.face`, `at ${name}'s face`]);
  return found;
}

/** @param {any} app */
function freeName(app) {
  let count = app.tree.reading_order.length + 1;
  while (app.tree.readings[`point ${count}`]) count += 1;
  return `point ${count}`;
}

/** Where a reading is put that was not clicked: before the first subject, or in the room's middle. @param {any} app */
function middle(app) {
  const plan = app.tree.plans[app.tree.setups[app.look.state.setup]?.plan];
  const mark = plan?.subjects?.[0]?.mark;
  if (mark) return { x_m: mark[0], y_m: mark[1], z_m: 1.5 };
  const [lowX, lowY, highX, highY] = plan?.bounds_m ?? [0, 0, 2, 2];
  return { x_m: (lowX + highX) / 2, y_m: (lowY + highY) / 2, z_m: 1.5 };
}

/** @param {string} group @param {string} value @param {string} words @param {string} says @param {boolean} checked */
function choice(group, value, words, says, checked) {
  const input = el("input", { type: "radio", name: group, value, checked });
  return { input, node: el("label", { class: "choice" }, input, el("span", { class: "choice-name" }, words), el("span", { class: "quiet" }, says)) };
}
