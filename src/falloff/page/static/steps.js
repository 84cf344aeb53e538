// All steps of this sitting in a box: any of them can be gone back to, and nothing is lost by it.

import { el } from "./dom.js";

/** @param {any} app */
export function stepsDialog(app) {
  const list = el("ol", { class: "steps" });
  const close = el("button", { type: "button", on: { click: () => node.close() } }, "Close");
  const node = el("dialog", { class: "box", aria: { label: "Steps" } },
    el("h2", {}, "Steps"),
    el("p", { class: "quiet" }, "Going back to a step is a step of its own: what came after it is kept."),
    list, el("div", { class: "box-end" }, close));
  let told = "";

  function show() {
    if (!node.open) return;
    const { steps, at } = app.status.value;
    const now = JSON.stringify([steps, at]);
    if (now === told) return;
    told = now;
    // The latest first; the numbers are those of the list itself.
    list.reversed = true;
    list.replaceChildren(...steps.map((/** @type {string} */ label, /** @type {number} */ k) => entry(label, k, at)).reverse());
  }

  /** @param {string} label @param {number} k @param {number} at */
  function entry(label, k, at) {
    const item = el("li", { class: k > at ? "undone" : "" }, el("span", { class: "step-label" }, label));
    if (k === at) {
      item.setAttribute("aria-current", "step");
      item.append(el("span", { class: "tag" }, "now"));
    } else {
      const words = k > at ? `${label}, undone: back to here` : `${label}: back to here`;
      item.append(el("button", { type: "button", aria: { label: words }, on: { click: () => app.back(k) } }, "Back to here"));
      if (k > at) item.insertBefore(el("span", { class: "tag" }, "undone"), item.lastChild);
    }
    return item;
  }

  return {
    node,
    show,
    open() {
      told = "";
      node.showModal();
      show();
    },
  };
}
