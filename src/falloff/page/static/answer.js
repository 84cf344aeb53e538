// The situation in two or three sentences, large, over everything else.

import { el, keyed, say } from "./dom.js";

const SPOKEN_AFTER_MS = 1200;
const EMPTY = "Nothing is metered yet: click a face in the picture to put a reading there.";

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-label", "The situation");
  const shown = el("div", { class: "answer-shown" });
  const spoken = el("p", { class: "apart", aria: { live: "polite" } });
  const soFar = el("p", { class: "answer-so-far", hidden: true }, "so far: light waits for the trace");
  const strip = lookingStrip(app);
  root.append(shown, strip.node, soFar, spoken);
  /** @type {number | undefined} */
  let timer;

  const show = () => {
    const { setup } = app.look.state;
    const bare = app.tree.reading_order.length === 0;
    const sentences = app.trial?.setups[setup]?.sentences ?? app.answers.value[setup] ?? [bare ? EMPTY : "The light is being metered …"];
    const lines = sentences.length > 0 ? sentences : [EMPTY];
    const [first, ...rest] = lines;
    const waits = (app.light.of(setup)?.pending.size ?? 0) > 0;
    soFar.hidden = !waits;
    const texts = rest.length > 0 ? [first, rest.join(" ")] : [first];
    keyed(shown, texts.map((_, k) => String(k)), (key) => el("p", { class: key === "0" ? "answer-first" : "answer-more" }));
    texts.forEach((text, k) => say(shown.children[k], text));
    // Spoken only when it has rested: a dim in motion would never stop talking.
    clearTimeout(timer);
    timer = setTimeout(() => say(spoken, lines.join(" ")), SPOKEN_AFTER_MS);
  };

  const stops = [
    strip.stop,
    app.trials.watch((/** @type {any} */ trial) => trial, show),
    app.answers.watch((/** @type {any} */ all) => all, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
    app.light.watch(show),
    app.store.watch((/** @type {any} */ tree) => tree?.reading_order, show),
  ];
  return () => {
    clearTimeout(timer);
    stops.forEach((stop) => stop());
    root.replaceChildren();
  };
}

/** What is only being looked at or tried, with the buttons that end it either way. @param {any} app */
function lookingStrip(app) {
  const text = el("span", { class: "looking-text" });
  const yes = el("button", { type: "button", class: "main", on: { click: () => (app.trial ? app.trial.take() : app.trying.keep()) } });
  const no = el("button", { type: "button", on: { click: () => (app.trial ? app.leaveTrial() : app.trying.putBack()) } });
  const node = el("div", { class: "looking", role: "status", hidden: true }, text, no, yes);
  const show = () => {
    const { trial } = app;
    const tried = app.look.state.trying;
    node.hidden = !trial && !tried;
    if (node.hidden) return;
    say(text, trial ? `You are looking at ${trial.label}; nothing is changed yet.` : `You are trying: ${tried.label}.`);
    say(yes, trial ? "Take" : "Keep");
    say(no, trial ? "Leave" : "Put back");
  };
  const stops = [
    app.trials.watch((/** @type {any} */ trial) => trial, show),
    app.look.watch((/** @type {any} */ look) => look.trying, show),
  ];
  return { node, stop: () => stops.forEach((stop) => stop()) };
}
