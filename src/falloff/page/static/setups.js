// The setups side by side: a small live picture each, what its camera is set to, what differs.

import { el, keyed, say } from "./dom.js";
import { nextFrame } from "./hand.js";
import { SmallPicture } from "./small-picture.js";

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-label", "Setups");
  const list = el("ul", { class: "setups-list" });
  const beside = el("button", { type: "button", class: "toggle", aria: { pressed: "false" } }, "All pictures");
  beside.title = "Traces every setup, not only the one that is looked at";
  beside.addEventListener("click", () => app.look.set({ beside: !app.look.state.beside }));
  const box = newSetupBox(app);
  const add = el("button", { type: "button", aria: { haspopup: "dialog" }, on: { click: () => box.open() } }, "New setup like this");
  const take = el("button", { type: "button" }, "Delete setup");
  take.addEventListener("click", () => {
    const { setup } = app.look.state;
    if (app.edit([{ do: "delete", name: setup }])) app.say(`Setup ${setup} deleted; undo brings it back.`);
  });
  root.append(list, el("div", { class: "setups-tools" }, beside, add, take), box.node);

  /** @type {Map<string, any>} */
  const cards = new Map();
  let last = "";
  const draw = nextFrame(() => cards.forEach((card) => card.draw()));
  const show = nextFrame(() => {
    const { tree } = app;
    const { setup, beside: open } = app.look.state;
    keyed(list, tree.setup_order, (name) => {
      const card = setupCard(app, name);
      cards.set(name, card);
      return card.node;
    });
    for (const name of cards.keys()) if (!tree.setups[name]) cards.delete(name);
    cards.forEach((card) => card.show());
    root.classList.toggle("beside", Boolean(open));
    beside.setAttribute("aria-pressed", String(Boolean(open)));
    take.disabled = tree.setup_order.length < 2;
    take.title = take.disabled ? "A scene has one setup at least" : `Delete ${setup}`;
    if (setup !== last) cards.get(setup)?.node.scrollIntoView({ block: "nearest", inline: "nearest" });
    last = setup;
    draw();
  });
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
    app.look.watch((/** @type {any} */ look) => look.beside, show),
    app.look.watch((/** @type {any} */ look) => look.unseen, draw),
    app.light.watch(draw),
    app.watchGains(draw),
    app.watchExposure(draw),
  ];
  return () => {
    stops.forEach((stop) => stop());
    root.replaceChildren();
  };
}

/** @param {any} app @param {string} name */
function setupCard(app, name) {
  const picture = new SmallPicture(app, name);
  const waits = el("span", { class: "setup-waits" }, "not traced yet");
  const says = el("span", { class: "setup-says" });
  const tags = el("span", { class: "setup-tags" });
  const button = el("button", { type: "button", class: "setup", aria: { pressed: "false" } },
    el("span", { class: "setup-picture" }, picture.canvas, waits),
    el("span", { class: "setup-words" }, el("span", { class: "setup-name" }, name), says, tags));
  button.addEventListener("click", () => app.look.set({ setup: name }));
  let told = "";
  return {
    node: el("li", {}, button),
    show() {
      const one = app.tree.setups[name];
      button.setAttribute("aria-pressed", String(app.look.state.setup === name));
      say(says, one.says);
      const now = one.differs.join("\n");
      button.title = [name, one.says, ...one.differs].join("\n");
      if (now === told) return;
      told = now;
      tags.replaceChildren(...one.differs.map((/** @type {string} */ text) => el("span", { class: "tag" }, text)));
    },
    draw() {
      waits.hidden = picture.draw();
    },
  };
}

/** @param {any} app */
function newSetupBox(app) {
  const name = el("input", { type: "text", required: true, autocomplete: "off" });
  const like = el("p", { class: "quiet" });
  const why = el("p", { class: "why", role: "alert" });
  const form = el("form", { method: "dialog" }, el("h2", {}, "New setup"), like,
    el("label", { class: "field" }, el("span", {}, "Name"), name), why,
    el("div", { class: "box-end" },
      el("button", { type: "button", on: { click: () => node.close() } }, "Cancel"),
      el("button", { type: "submit", class: "main" }, "Make it")));
  const node = el("dialog", { class: "box", aria: { label: "New setup" } }, form);
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const wanted = name.value.trim();
    if (!wanted || app.tree.setups[wanted]) {
      say(why, wanted ? `There is a setup ${wanted} already.` : "It needs a name.");
      return;
    }
    if (!app.edit([{ do: "setup", name: wanted, like: app.look.state.setup }])) return;
    node.close();
    // Looked at once it is there.
    const stop = app.store.watch((/** @type {any} */ tree) => tree.setup_order, (/** @type {string[]} */ order) => {
      if (!order.includes(wanted)) return;
      queueMicrotask(() => stop());
      app.look.set({ setup: wanted });
    });
    setTimeout(() => stop(), 5000);
  });
  return {
    node,
    open() {
      say(like, `Like ${app.look.state.setup}: it follows that setup in everything but what you change in it.`);
      say(why, "");
      name.value = `SETUP ${app.tree.setup_order.length + 1}`;
      node.showModal();
      name.select();
    },
  };
}
