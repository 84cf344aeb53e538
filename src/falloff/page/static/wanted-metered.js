// What came of it on the day: meter readings and stills, set against the plan.

import { openCorrectBox } from "./correct-box.js";
import { el, keyed, say } from "./dom.js";
import { openStill } from "./still-box.js";

/** @param {any} app */
export function meteredPart(app) {
  const list = el("ul", { class: "measured" });
  const none = el("p", { class: "quiet" }, "No reading is written in the scene file.");
  const file = el("input", { type: "file", class: "apart", tabIndex: -1, accept: ".jpg,.jpeg,.png,.tif,.tiff,.exr,image/jpeg,image/png,image/tiff", aria: { label: "Picture to open" } });
  file.addEventListener("change", () => {
    if (file.files?.[0]) openStill(app, file.files[0]);
    file.value = "";
  });
  const node = el("div", { class: "wanted-part" },
    el("div", { class: "why-ask" },
      el("p", {}, "Set what the meter said against the plan: what it assumed is put right, with how surely, and what to read next."),
      el("div", { class: "form-line" },
        el("button", { type: "button", class: "main", on: { click: () => openCorrectBox(app) } }, "Correct by readings …"))),
    el("div", { class: "why-ask" },
      el("p", {}, "A picture that you own, of a look that you want or of what was shot: places clicked in it become targets."),
      el("div", { class: "form-line" }, el("button", { type: "button", on: { click: () => file.click() } }, "Open a still …"), file)),
    el("div", { class: "why-ask" }, el("h3", {}, "Readings in the scene file"), none, list));
  const stop = app.store.watch((/** @type {any} */ tree) => tree.measured, (/** @type {any} */ measured) => {
    const names = Object.keys(measured);
    none.hidden = names.length > 0;
    keyed(list, names, (name) => item(app, name));
    names.forEach((name, k) => {
      const { reading, text, setup, lit } = measured[name];
      say(list.children[k].firstElementChild, [`${name}: ${text}`, reading === name ? "" : `at ${reading}`, setup ?? "", lit ? `on: ${lit.join(", ")}` : ""].filter(Boolean).join(", "));
    });
  });
  return { node, open() {}, close: () => stop() };
}

/** @param {any} app @param {string} name */
function item(app, name) {
  const take = el("button", { type: "button", class: "plain", title: `Delete ${name}`, aria: { label: `Delete what was measured: ${name}` } }, "×");
  take.addEventListener("click", () => app.edit([{ do: "remove", path: ["measured", name] }]));
  return el("li", {}, el("span", {}), take);
}
