// Keys for the whole page; none of them works while somebody types.

import { el } from "./dom.js";

const KEYS = [
  ["Ctrl or Cmd + Z", "undo the last step"],
  ["Ctrl or Cmd + Shift + Z", "redo it; Ctrl + Y as well"],
  ["P", "show or fold the plan"],
  ["M", "stops map or picture"],
  ["W", "show or fold the waveform"],
  ["T", "show or fold what is wanted: targets, fixes, why"],
  ["Arrows, on the picture", "move the crosshair; with Shift by one pixel"],
  ["Enter, on the picture", "put a reading at the crosshair"],
  ["Arrows, on a dim", "half a per cent up or down; Page Up and Page Down more"],
  ["Arrows, on the plan", "move what is chosen; Tab goes on to the next thing"],
  ["[ and ], Page Up and Page Down, on the plan", "turn what is chosen; raise and lower it"],
  ["A, D, Delete, on the plan", "aim what is chosen at somebody; a second one like it; take it away"],
  ["N, R, M, on the plan", "add something; take a reading; measure"],
  ["Escape", "close what is open, let go of what is chosen"],
  ["?", "these keys"],
];

/** @param {any} app @returns {() => void} takes them off */
export function watchKeys(app) {
  const dialog = help();
  document.body.append(dialog);
  app.showKeys = () => dialog.showModal();

  const press = (/** @type {KeyboardEvent} */ event) => {
    if (event.defaultPrevented || event.altKey || isTyping(event.target)) return;
    if (document.querySelector("dialog[open]")) return;
    if (!act(app, event)) return;
    event.preventDefault();
  };
  document.addEventListener("keydown", press);
  return () => {
    document.removeEventListener("keydown", press);
    dialog.remove();
  };
}

/** @param {any} app @param {KeyboardEvent} event @returns {boolean} whether the key did something */
function act(app, event) {
  const key = event.key.toLowerCase();
  const { state } = app.look;
  if (event.ctrlKey || event.metaKey) {
    if (key === "z" && !event.shiftKey) app.undo();
    else if (key === "z" || (key === "y" && !event.shiftKey)) app.redo();
    else return false;
    return true;
  }
  if (key === "p") app.look.set({ plan: !state.plan });
  else if (key === "m") app.look.set({ map: !state.map });
  else if (key === "w") app.look.set({ waveform: !state.waveform });
  else if (key === "t") app.wanted?.toggle();
  else if (event.key === "?") app.showKeys();
  else return false;
  return true;
}

/** Whether keys belong to a field just now. @param {any} target */
function isTyping(target) {
  if (!(target instanceof Element)) return false;
  if (target.closest("textarea, select, [contenteditable]")) return true;
  const input = target.closest("input");
  return input !== null && !["checkbox", "radio", "range", "button"].includes(/** @type {HTMLInputElement} */ (input).type);
}

function help() {
  const close = el("button", { type: "button", on: { click: () => node.close() } }, "Close");
  const rows = KEYS.flatMap(([keys, does]) => [el("dt", {}, keys), el("dd", {}, does)]);
  const node = el("dialog", { class: "box wide", aria: { label: "Keys" } },
    el("h2", {}, "Keys"), el("dl", { class: "keys" }, ...rows), el("div", { class: "box-end" }, close));
  return node;
}
