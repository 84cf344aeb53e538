// Beginning without a scene: a quick start of a few questions, or a location that is there already.

import { el, say } from "./dom.js";

/**
 * @param {HTMLElement} root @param {any} offers what the server has to begin with
 * @param {() => void} done called once a scene is open
 */
export function mount(root, offers, done) {
  document.title = "Begin a scene – Falloff";
  const why = el("div", { class: "why", role: "alert" });
  const asking = el("div", { class: "start-asking" });
  const busy = el("p", { class: "apart", aria: { live: "polite" } });
  let units = "metric";
  /** @type {any} */
  let situation = null;
  /** What was typed, by question: kept when another situation or other units are chosen. @type {Map<string, string>} */
  const typed = new Map();

  const unitChoice = fieldset("Units", "units", [["metric", "metres"], ["imperial", "feet"]], units, (value) => {
    units = value;
    ask();
  });
  const situations = fieldset("What is it?", "situation", offers.situations.map((one) => [one.name, capital(one.says)]), "", (value) => {
    situation = offers.situations.find((one) => one.name === value);
    ask();
  });

  function ask() {
    quick.classList.toggle("chosen", situation !== null);
    const had = /** @type {any} */ (document.activeElement)?.name;
    say(why, "");
    if (!situation) {
      asking.replaceChildren(el("p", { class: "quiet" }, "Choose what it is: ten questions follow, each with an answer that will do."));
      return;
    }
    const fields = situation.questions.map((question) => questionField(question, units, typed));
    const go = el("button", { type: "submit", class: "main" }, "Make the scene");
    const form = el("form", { class: "start-form" }, el("div", { class: "start-fields" }, ...fields),
      el("div", { class: "box-end" }, el("p", { class: "quiet" }, "Every answer can be changed later."), go));
    form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      // What nobody touched is left to the quick start, which makes its own answers fit the others.
      const answers = Object.fromEntries([...typed].filter(([name]) => form.elements.namedItem(name)));
      send({ situation: situation.name, units, answers });
    });
    asking.replaceChildren(form);
    if (had) /** @type {any} */ (form.elements.namedItem(had))?.focus?.();
  }

  /** @param {any} asked */
  async function send(asked) {
    say(why, "");
    say(busy, "Making the scene.");
    lock(true);
    try {
      const answer = await fetch("/start", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(asked) });
      if (answer.ok) {
        done();
        return;
      }
      const told = await answer.json();
      why.replaceChildren(...told.why.map((/** @type {string} */ one) => el("p", {}, one)));
    } catch {
      say(why, "Falloff does not answer. Is it still running in the terminal?");
    }
    say(busy, "");
    lock(false);
    why.scrollIntoView({ block: "nearest" });
  }

  /** @param {boolean} on */
  function lock(on) {
    for (const one of root.querySelectorAll("button")) one.disabled = on;
    root.classList.toggle("busy", on);
  }

  const quick = el("section", { class: "start-quick", aria: { labelledby: "start-quick" } },
    el("div", { class: "start-title" }, el("h2", { id: "start-quick" }, "A new scene"), unitChoice), situations, asking, why);
  const ready = el("section", { class: "start-ready", aria: { labelledby: "start-ready" } },
    el("h2", { id: "start-ready" }, "A scene that is lit already"),
    el("ul", { class: "start-cards" }, ...offers.locations.map((/** @type {any} */ one) => card(one, () => send({ location: one.name })))),
    el("p", { class: "quiet" }, "A copy of it is written into the folder that Falloff was started in."));
  root.append(el("div", { class: "start" },
    el("header", { class: "start-head" }, el("h1", {}, "Falloff"), el("p", {}, "Light a scene in a real room, and see what it does before anything is carried in.")),
    quick, ready, busy));
  ask();
}

/** A question with its answer: what was typed, else the one that will do. */
function questionField(question, units, typed) {
  const given = question[units];
  const input = el("input", { type: "text", name: question.name, autocomplete: "off", spellcheck: false, value: typed.get(question.name) ?? given });
  input.addEventListener("input", () => {
    if (input.value === given) typed.delete(question.name);
    else typed.set(question.name, input.value);
  });
  return el("label", { class: "field" }, el("span", {}, question.asks), input);
}

/** One of a few, as radio buttons. */
function fieldset(legend, name, choices, chosen, act) {
  return el("fieldset", { class: `pick pick-${name}` }, el("legend", {}, legend), ...choices.map(([value, words]) => {
    const input = el("input", { type: "radio", name, value, checked: value === chosen, on: { change: () => act(value) } });
    return el("label", {}, input, el("span", {}, words));
  }));
}

/** @param {any} location @param {() => void} open */
function card({ name, says }, open) {
  return el("li", {}, el("button", { type: "button", class: "start-card", on: { click: open } },
    el("strong", {}, capital(name)), el("span", {}, capital(says))));
}

/** @param {string} text */
function capital(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}
