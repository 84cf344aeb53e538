// The head of the page: what is open, steps back and forth, the plan, units, looks, the status line.

import { el, say } from "./dom.js";
import { stepsDialog } from "./steps.js";

const FADES_AFTER_MS = 8000;
const THEMES = [["system", "As the system"], ["light", "Light"], ["dark", "Dark"]];

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  const parts = [title(app), history(app), saved(app), plan(app), settings(app), status(app), question(app)];
  root.append(...parts.map((one) => one.node));
  return () => {
    parts.forEach((one) => one.stops.forEach((/** @type {any} */ stop) => stop()));
    root.replaceChildren();
  };
}

/** @param {any} app */
function title(app) {
  const node = el("h1", {});
  const show = (/** @type {string} */ text) => {
    say(node, text);
    node.title = text;
  };
  return { node, stops: [app.store.watch((/** @type {any} */ tree) => tree.title, show)] };
}

/** @param {any} app */
function history(app) {
  const undo = stepButton("Undo", () => app.undo());
  const redo = stepButton("Redo", () => app.redo());
  const dialog = stepsDialog(app);
  const steps = el("button", { type: "button", aria: { haspopup: "dialog" }, on: { click: () => dialog.open() } }, "Steps");
  const show = ({ steps: labels, at, open } = app.status.value) => {
    undo.tell(at > 0 ? labels[at] : "", open);
    redo.tell(at + 1 < labels.length ? labels[at + 1] : "", open);
    dialog.show();
  };
  const node = el("div", { class: "top-steps", role: "group", aria: { label: "Steps" } }, undo.node, redo.node, steps, dialog.node);
  return { node, stops: [app.status.watch((/** @type {any} */ value) => value, show)] };
}

/** A button that says what it takes back or brings back. @param {string} words @param {() => void} act */
function stepButton(words, act) {
  const what = el("span", { class: "step-what" });
  const node = el("button", { type: "button", class: "step", on: { click: act } }, el("span", {}, words), what);
  return {
    node,
    /** @param {string} label @param {boolean} open */
    tell(label, open) {
      say(what, label);
      node.disabled = !label || !open;
      node.title = label ? `${words}: ${label}` : `nothing to ${words.toLowerCase()}`;
    },
  };
}

/** @param {any} app */
function saved(app) {
  const node = el("span", { class: "saved", role: "status" });
  const show = ({ open, saved: kept } = app.status.value) => {
    say(node, open ? (kept ? "Saved" : "Saving …") : "Not linked");
    node.dataset.state = open ? "linked" : "lost";
    node.title = open
      ? "Every change is written into the scene file by itself."
      : "Falloff does not answer: nothing can be changed until it is back. What was done is kept.";
  };
  const file = el("a", { class: "button", href: "/scene", download: "" }, "Scene file");
  file.title = "Download the scene file as it is now";
  const box = el("div", { class: "top-saved" }, node, file);
  return { node: box, stops: [app.status.watch((/** @type {any} */ value) => value, show)] };
}

/** @param {any} app */
function plan(app) {
  const node = el("button", { type: "button", class: "toggle", aria: { expanded: "false" }, title: "Show or fold the plan (P)" }, "Plan");
  node.addEventListener("click", () => app.look.set({ plan: !app.look.state.plan }));
  const show = (/** @type {boolean} */ open) => node.setAttribute("aria-expanded", String(Boolean(open)));
  return { node, stops: [app.look.watch((/** @type {any} */ look) => look.plan, show)] };
}

/** @param {any} app */
function settings(app) {
  const units = el("select", { aria: { label: "Units" }, title: "Units" },
    el("option", { value: "metric" }, "m, lx"), el("option", { value: "imperial" }, "ft, fc"));
  units.addEventListener("change", () => {
    app.edit([{ do: "put", path: ["units"], text: units.value }]);
  });
  const theme = el("select", { aria: { label: "Light or dark page" }, title: "Light or dark page" },
    ...THEMES.map(([value, words]) => el("option", { value }, words)));
  theme.addEventListener("change", () => app.look.set({ theme: theme.value }));
  const help = el("button", { type: "button", title: "Keys (?)", aria: { label: "Keys" }, on: { click: () => app.showKeys?.() } }, "?");
  return {
    node: el("div", { class: "top-settings" }, units, theme, help),
    stops: [
      app.store.watch((/** @type {any} */ tree) => tree, () => (units.value = app.tree.units)),
      app.look.watch((/** @type {any} */ look) => look.theme, (/** @type {string} */ value) => (theme.value = value)),
    ],
  };
}

/** What was done, or why it was not; it lies over the page and moves nothing. @param {any} app */
function status(app) {
  const text = el("p", {});
  const close = el("button", { type: "button", class: "plain", aria: { label: "Put this away" }, on: { click: () => app.say("") } }, "×");
  const node = el("div", { class: "said", aria: { live: "polite" } }, text, close);
  /** @type {number | undefined} */
  let timer;
  const show = (/** @type {any} */ told) => {
    const said = typeof told === "string" ? { text: told, tone: "" } : told;
    clearTimeout(timer);
    say(text, said.text ?? "");
    node.dataset.tone = said.tone ?? "";
    node.classList.toggle("shown", Boolean(said.text));
    close.hidden = !said.text;
    if (said.text && said.tone !== "refused") timer = setTimeout(() => app.say(""), FADES_AFTER_MS);
  };
  return { node, stops: [app.said.watch((/** @type {any} */ told) => told, show), () => clearTimeout(timer)] };
}

/** The file was changed by somebody else: which one holds? @param {any} app */
function question(app) {
  const why = el("p", {});
  const take = (/** @type {string} */ whose) => app.link.send({ t: "outside", take: whose });
  const node = el("div", { class: "outside", role: "alert", hidden: true }, why,
    el("button", { type: "button", on: { click: () => take("theirs") } }, "Take the file's"),
    el("button", { type: "button", on: { click: () => take("mine") } }, "Keep mine"));
  const show = (/** @type {string | null} */ told) => {
    node.hidden = !told;
    say(why, told ? `${told} Nothing is saved until you have chosen.` : "");
  };
  return { node, stops: [app.status.watch((/** @type {any} */ value) => value.outside, show)] };
}
