// The plan in the window: from above and from two sides, with its tools and its sheet of facts.

import { length } from "./format.js";
import { addDialog } from "./plan-add.js";
import { Board } from "./plan-board.js";
import { followHands } from "./plan-drag.js";
import { tidy } from "./plan-geometry.js";
import { itemsOf } from "./plan-items.js";
import { followKeys } from "./plan-keys.js";
import { placeForMeter } from "./plan-pointer.js";
import { factSheet } from "./plan-sheet.js";
import { SectionBoard } from "./section.js";

const TOOLS = ["reading", "measure"];
const SIDES = [["above", "From above"], ["front", "From the front"], ["right", "From the right"]];

/**
 * Build the plan in `root`; gives back what takes it down.
 * @param {HTMLElement} root @param {object} app see docs/page.md
 */
export function mount(root, app) {
  const panel = element("section", { className: "plan" });
  panel.setAttribute("aria-label", "plan");
  const tools = element("div", { className: "plan-tools" });
  tools.setAttribute("role", "toolbar");
  tools.setAttribute("aria-label", "plan tools");
  const ground = element("div", { className: "plan-ground" });
  const sheetRoot = element("div", { className: "plan-sheet-place" });
  ground.append(sheetRoot);

  let plan = null;
  let items = []; // all that can be chosen, whichever side is shown
  let board = null;
  let takeOff = [];
  let chosen = app.look.state.chosen ?? null;
  let side = app.look.state.section ? "front" : "above";
  let seenAll = false;
  let pressed = false;
  let choosing = false;
  let keys = null;
  let known = null; // names before something was added, until it is there

  const tree = () => app.store.tree;
  const setup = () => tree().setups[app.look.state.setup];

  /** What the pieces share. */
  const desk = {
    app,
    dragging: null, aiming: null, turning: null, wallAt: null, hint: null,
    measure: null, measuring: false, picking: false,
    /** What a pointer holds just now: how to let go of it. */
    grip: null,
    /** What lies over what it holds: a click chooses that. */
    under: null,
    /** Whether a hand is down: the sheet of facts waits, so that nothing moves under the hand. */
    get pressed() {
      return pressed;
    },
    set pressed(down) {
      pressed = down;
      if (!down) facts.show();
    },
    get chosen() {
      return chosen;
    },
    plan: () => plan,
    item: (key) => items.find((one) => one.key === key),
    camera: () => setup()?.camera ?? "",
    units: () => tree().units ?? "metric",
    isMoved: (name) => setup()?.moved.includes(name) ?? false,
    focusChosen: () => chosen && board.groupOf(chosen)?.focus({ preventScroll: true }),
    choose,
    fit: () => fit(),
    remove, duplicate, heightChange, setTool, readAt, readHere,
    openAdd() {
      addAt = null;
      adding.open();
      return true;
    },
    openAim() {
      facts.openAim();
      return true;
    },
    openSheet() {
      facts.focus();
      return true;
    },
  };
  const facts = factSheet(desk);
  let addAt = null;
  const adding = addDialog({ kit: () => tree().kit ?? {}, choose: addOne });
  buildTools();
  panel.append(tools, ground, facts.element, adding.dialog);
  panel.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !(desk.measuring || desk.picking) || event.defaultPrevented) return;
    event.preventDefault();
    setTool("");
  });
  root.append(panel);
  setSide(side);

  const stops = [
    app.store.watch((now) => now.plans?.[now.setups?.[app.look.state.setup]?.plan], show),
    app.look.watch((state) => state.setup, () => show(planNow())),
    app.look.watch((state) => state.chosen, (key) => {
      if (!choosing && key !== undefined && key !== chosen) choose(key);
    }),
    app.look.watch((state) => state.section, (on) => {
      if (on !== undefined && on !== (side !== "above")) setSide(on ? "front" : "above");
    }),
  ];
  const heard = app.link?.heard.watch((message) => {
    if (message.t !== "refused") return;
    known = null;
    keys?.forget();
    desk.grip?.refused();
    board.refused();
  });
  return () => {
    heard?.();
    for (const stop of stops) stop?.();
    closeBoard();
    panel.remove();
  };

  function planNow() {
    return tree().plans?.[setup()?.plan];
  }

  function show(next) {
    if (!next) return;
    plan = next;
    items = itemsOf(plan);
    if (chosen && !desk.item(chosen)) letGo();
    board?.show(plan);
    chooseNew();
    facts.show();
  }

  /** What was chosen is there no more. */
  function letGo() {
    choose(null);
    desk.grip?.gone();
  }

  /** What was just added is chosen, so that it can be put where it belongs. */
  function chooseNew() {
    const found = known && items.find((one) => one.kind !== "wall" && !known.has(one.key));
    if (!found) return;
    known = null;
    choose(found.key);
    desk.focusChosen();
  }

  function expectNew() {
    known = new Set(items.map((one) => one.key));
    const mine = known;
    setTimeout(() => {
      if (known === mine) known = null;
    }, 3000);
  }

  // Sides -------------------------------------------------------------------------------------

  function setSide(next) {
    side = next;
    closeBoard();
    setTool("");
    board = side === "above" ? new Board(sheetRoot, desk) : new SectionBoard(sheetRoot, desk, side);
    keys = followKeys(board.view.element, desk, {
      view: board.view,
      side: side !== "above",
      items: () => board.items,
      focus: (key) => board.groupOf(key)?.focus({ preventScroll: true }),
      move: (key, spot) => board.move?.(key, spot),
    });
    takeOff = [keys.off];
    if (side === "above") {
      takeOff.push(followHands(board, desk));
      board.view.element.addEventListener("dblclick", onDouble);
    }
    for (const input of tools.querySelectorAll("input[name=plan-side]")) input.checked = input.value === side;
    for (const name of TOOLS) tools.querySelector(`.plan-${name}-button`).disabled = side !== "above";
    const section = side !== "above";
    if (app.look.state.section !== section) app.look.set({ section });
    if (plan) board.show(plan);
  }

  function closeBoard() {
    for (const off of takeOff) off();
    board?.close();
    board = null;
  }

  function fit() {
    seenAll = !seenAll && board.items.some((one) => !inRooms(one.at));
    board.fit(seenAll);
    return true;
  }

  function inRooms([x, y]) {
    const [lowX, lowY, highX, highY] = board.near;
    return x >= lowX && x <= highX && y >= lowY && y <= highY;
  }

  // Choosing and changing ---------------------------------------------------------------------

  function choose(key) {
    if (key === chosen) return;
    chosen = key;
    const item = desk.item(key);
    choosing = true;
    app.look.set({ chosen: item && item.kind === "wall" ? null : key });
    choosing = false;
    board?.draw();
    if (!pressed) facts.show();
  }

  function heightChange(item, z) {
    if (item.kind === "opening") return [{ do: "opening", name: item.name, sill_m: tidy(z) }];
    const at = desk.item(item.key)?.at;
    return !at ? [] : [{ do: "place", name: item.name, x_m: at[0], y_m: at[1], z_m: tidy(z) }];
  }

  function remove(item) {
    if (!item || item.kind === "wall") return true;
    if (!app.edit([{ do: "delete", name: item.name }])) return true;
    choose(null);
    board.view.element.focus({ preventScroll: true });
    app.say(`${item.name} deleted; undo brings it back`);
    return true;
  }

  function duplicate(item) {
    if (!item || item.kind === "wall" || item.kind === "opening") return true;
    expectNew();
    if (!app.edit([{ do: "duplicate", name: item.name }])) return true;
    app.say(`${item.name} made twice: the other stands beside it`);
    return true;
  }

  function addOne(section, what) {
    const [x, y] = addAt ?? (side === "above" ? board.view.middle() : middleOfRoom());
    addAt = null;
    expectNew();
    if (!app.edit([{ do: "add", section, what, x_m: tidy(x), y_m: tidy(y) }])) return;
    app.say(`${what} added at ${length(x, desk.units())}, ${length(y, desk.units())}`);
  }

  function middleOfRoom() {
    const [lowX, lowY, highX, highY] = plan.bounds_m;
    return [(lowX + highX) / 2, (lowY + highY) / 2];
  }

  function onDouble(event) {
    if (event.target.closest("[data-key], [data-handle]") || desk.measuring || desk.picking) return;
    addAt = board.view.spotOf(event);
    adding.open();
  }

  /** A meter on a spot of the plan: its height can be changed in the box that opens. */
  function readAt(spot) {
    setTool("");
    app.takeReading(placeForMeter(plan, spot));
    return true;
  }

  /** The same by a key: at what is chosen, or in the middle of what is seen. */
  function readHere() {
    if (side !== "above") return true;
    return readAt(desk.item(chosen)?.at ?? board.view.middle());
  }

  // Tools -------------------------------------------------------------------------------------

  /** What a press on the drawing does: "measure", "reading", or "" for what it always does. */
  function setTool(name) {
    const now = side === "above" ? name : "";
    desk.measuring = now === "measure";
    desk.picking = now === "reading";
    if (!desk.measuring) desk.measure = null;
    for (const one of TOOLS) {
      tools.querySelector(`.plan-${one}-button`)?.setAttribute("aria-pressed", String(now === one));
    }
    sheetRoot.classList.toggle("is-measuring", now !== "");
    if (desk.measuring) app.say("Drag from one point to another; Escape ends measuring.");
    if (desk.picking) app.say("Click where the meter is to be; Escape ends it.");
    board?.drawOver();
    return true;
  }

  function buildTools() {
    const add = button("Add", "add a light, grip, a prop or a person from the kit (N)", desk.openAdd);
    const measure = toggle("Measure", "measure between two points (M)", "measure");
    const reading = toggle("Reading", "click where a meter is to be (R)", "reading");
    const sides = element("fieldset", { className: "plan-sides" });
    sides.append(element("legend", { textContent: "seen" }));
    for (const [value, words] of SIDES) {
      const input = element("input", { type: "radio", name: "plan-side", value });
      input.addEventListener("change", () => input.checked && setSide(value));
      const label = element("label", {});
      label.append(input, element("span", { textContent: words.replace(/^From (the )?/, "") }));
      label.title = words;
      input.setAttribute("aria-label", words);
      sides.append(label);
    }
    const zoom = element("div", { className: "plan-zoom" });
    zoom.append(
      button("−", "farther away (−)", () => board.view.zoom(0.8)),
      button("+", "nearer (+)", () => board.view.zoom(1.25)),
      button("Fit", "all rooms, then all that stands outside, too (0)", fit),
    );
    tools.append(add, reading, measure, sides);
    ground.append(zoom);
  }

  function toggle(words, says, name) {
    const made = button(words, says, () =>
      setTool(made.getAttribute("aria-pressed") === "true" ? "" : name));
    made.classList.add(`plan-${name}-button`);
    made.setAttribute("aria-pressed", "false");
    return made;
  }
}

function button(words, says, press) {
  const made = element("button", { type: "button", textContent: words, title: says });
  if (words.length < 3) made.setAttribute("aria-label", says);
  made.addEventListener("click", press);
  return made;
}

function element(name, parts) {
  return Object.assign(document.createElement(name), parts);
}
