// The plan as it is drawn: rooms, things, light, labels and the handles of what is chosen.

import { length } from "./format.js";
import { distance, middleOf, wayOf } from "./plan-geometry.js";
import { canTurn, facingOf, hasAim, itemsOf, labelOf, subjectOf } from "./plan-items.js";
import { drawLabels } from "./plan-labels.js";
import { drawItem, drawLight, drawShell } from "./plan-shapes.js";
import { SunOnPlan } from "./plan-sun.js";
import { View, svg, widthOf } from "./plan-view.js";
import { drawRulers, measured } from "./ruler.js";

const AROUND_M = 0.35; // shown around the rooms
const TURN_PX = 40; // from a thing's middle to its handle
const LET_GO_MS = 1500;
const AS_WRITTEN_M = 0.03; // a clock to the minute lies that near to where a hand let go

/** The plan's drawing. `desk` is what plan.js shares among its pieces. */
export class Board {
  /** @param {HTMLElement} root @param {object} desk */
  constructor(root, desk) {
    this.desk = desk;
    this.items = [];
    this.moved = new Map(); // name -> [x, y]: where a hand has it, before the server has
    this.timers = new Map();
    this.view = new View(root, {
      label: "plan: Tab goes from thing to thing, arrows move what is chosen",
      onChange: () => this.drawOver(),
    });
    this.view.element.classList.add("plan-from-above");
    this.sun = new SunOnPlan(desk.app, () => this.drawOver());
  }

  close() {
    for (const timer of this.timers.values()) clearTimeout(timer);
    this.sun.close();
    this.view.close();
  }

  /** @returns {import("./plan-items.js").Item | undefined} */
  item(key) {
    return this.items.find((one) => one.key === key);
  }

  /** Show a plan. */
  show(plan) {
    this.plan = plan;
    this.items = itemsOf(plan);
    const [lowX, lowY, highX, highY] = plan.bounds_m;
    this.near = [lowX - AROUND_M, lowY - AROUND_M, highX + AROUND_M, highY + AROUND_M];
    // Nothing moves under a hand that pulls a wall: what is seen is set when it lets go.
    if (!this.desk.pressed) this.view.setBounds(this.near);
    this.settle();
    this.draw();
  }

  /** Rooms alone, or with all that stands outside. */
  fit(all) {
    let [lowX, lowY, highX, highY] = this.near;
    if (all) {
      for (const { at: [x, y] } of this.items) {
        lowX = Math.min(lowX, x - AROUND_M);
        highX = Math.max(highX, x + AROUND_M);
        lowY = Math.min(lowY, y - AROUND_M);
        highY = Math.max(highY, y + AROUND_M);
      }
    }
    this.view.bounds = [lowX, lowY, highX, highY];
    this.view.fit();
  }

  /** Let go of places that the server has by now. */
  settle() {
    for (const [key, spot] of this.moved) {
      const item = this.item(key);
      const near = item?.it.distance ? AS_WRITTEN_M : 0.002;
      if (!item || (key !== this.desk.dragging && distance(item.at, spot) < near)) this.moved.delete(key);
    }
  }

  /** The server has refused an edit: all is shown where it really is. */
  refused() {
    if (this.desk.dragging) return;
    this.moved.clear();
    this.draw();
  }

  draw() {
    const { desk, plan, view } = this;
    if (!plan) return;
    const held = document.activeElement?.closest?.(".plan-item")?.dataset.key;
    const how = { camera: desk.camera(), chosen: desk.chosen };
    const order = { wall: 0, opening: 1, body: 2, subject: 4, reading: 5, camera: 6, unit: 7 };
    const drawn = [...this.items].sort((a, b) => order[a.kind] - order[b.kind] || highest(a) - highest(b));
    const [floors, walls] = drawShell(plan);
    const things = svg("g", { class: "plan-things" });
    const shell = svg("g", {}, walls);
    for (const item of drawn) {
      const group = drawItem(item, how);
      const chosen = item.key === desk.chosen;
      group.classList.toggle("is-chosen", chosen);
      group.setAttribute("aria-pressed", String(chosen));
      group.setAttribute("aria-label", labelOf(item, desk.units()));
      group.append(svg("title", {}, item.it.says ? `${item.name}: ${item.it.says}` : item.name));
      (item.kind === "wall" || item.kind === "opening" ? shell : things).append(group);
    }
    view.world.replaceChildren(floors, drawLight(plan, how), shell, this.sun.group, things);
    if (held) this.groupOf(held)?.focus({ preventScroll: true });
    this.shiftMoved();
    this.setTabStop();
    this.drawOver();
  }

  groupOf(key) {
    return this.view.world.querySelector(`.plan-item[data-key="${CSS.escape(key)}"]`);
  }

  /** Put something where a hand has it, at once. */
  move(key, spot) {
    this.moved.set(key, spot);
    this.letGoLater(key);
    this.shiftMoved();
    this.drawOver();
  }

  /** The server's place comes soon; should it never be the hand's, it is shown after all. */
  letGoLater(key) {
    clearTimeout(this.timers.get(key));
    this.timers.set(key, setTimeout(() => {
      if (this.desk.dragging === key) this.letGoLater(key);
      else if (this.moved.delete(key)) this.draw();
    }, LET_GO_MS));
  }

  shiftMoved() {
    for (const item of this.items) {
      const spot = this.moved.get(item.key);
      const group = spot && this.groupOf(item.key);
      if (group) group.setAttribute("transform", `translate(${spot[0] - item.at[0]} ${spot[1] - item.at[1]})`);
    }
  }

  /** Where a thing is, a hand's place before the server's. */
  atOf(item) {
    return this.moved.get(item.key) ?? item.at;
  }

  setTabStop() {
    const current = this.desk.chosen ?? this.items[0]?.key;
    for (const group of this.view.world.querySelectorAll(".plan-item")) {
      group.setAttribute("tabindex", group.dataset.key === current ? "0" : "-1");
    }
    this.view.element.setAttribute("tabindex", "-1");
  }

  /** Everything that is drawn in pixels. */
  drawOver() {
    const { desk, view } = this;
    if (!this.plan || !view.size[0]) return;
    const units = desk.units();
    const handles = [...this.sun.label(view), ...this.handles()];
    const labels = drawLabels(view, this.items.map((item) => this.asMoved(item)), {
      chosen: desk.chosen,
      camera: desk.camera(),
      taken: handles.flatMap((one) => one.box ?? []),
    });
    const over = [labels, ...handles, ...drawRulers(view, units)];
    if (desk.measure) over.push(measured(view, desk.measure.from, desk.measure.to, units));
    if (desk.hint) over.push(hintAt(view, desk.hint));
    view.over.replaceChildren(...over);
  }

  /** A thing with its outlines where a hand has it. */
  asMoved(item) {
    const spot = this.moved.get(item.key);
    if (!spot) return item;
    const [dx, dy] = [spot[0] - item.at[0], spot[1] - item.at[1]];
    const step = (points) => points?.map(([x, y]) => [x + dx, y + dy]);
    const { it } = item;
    const outlines = ["face", "body", "outline", "shoulders", "head", "hole"];
    const next = Object.fromEntries(outlines.filter((key) => Array.isArray(it[key]?.[0])).map((key) => [key, step(it[key])]));
    return { ...item, at: spot, it: { ...it, ...next } };
  }

  // Handles of what is chosen ----------------------------------------------------------------

  handles() {
    const item = this.item(this.desk.chosen);
    if (!item) return [];
    const found = [];
    const at = this.atOf(item);
    const subject = subjectOf(this.plan, item);
    if (subject) found.push(this.distanceLine(item, subject, at));
    if (hasAim(item)) found.push(...this.aimHandle(item, at));
    if (canTurn(item)) found.push(...this.turnHandle(item, at));
    if (item.kind === "opening" && item.it.wall !== null) found.push(...this.openingHandles(item));
    if (item.kind === "wall") found.push(...this.wallHandles(item));
    return found;
  }

  distanceLine(item, subject, at) {
    const [a, b] = [this.view.toPx(subject.mark), this.view.toPx(at)];
    const words = length(distance(subject.mark, at), this.desk.units());
    const [x, y] = middleOf([a, b]);
    const wide = widthOf(words) + 10;
    const box = this.desk.hint ? [] : [[x - wide / 2, y - 9, x + wide / 2, y + 9]];
    return Object.assign(svg(
      "g",
      { class: "plan-distance", "aria-hidden": "true" },
      svg("path", { d: `M${a}L${b}` }),
      ...(this.desk.hint ? [] : [
        svg("rect", { x: x - wide / 2, y: y - 9, width: wide, height: 18, rx: 3 }),
        svg("text", { x, y: y + 4 }, words),
      ]),
    ), { box });
  }

  aimHandle(item, at) {
    const aim = this.desk.aiming ?? item.it.aim;
    if (!aim) return [];
    const [a, b] = [this.view.toPx(at), this.view.toPx(aim)];
    return [
      svg("path", { class: "plan-aim-line", d: `M${a}L${b}` }),
      svg("circle", { class: "plan-handle is-aim", "data-handle": "aim", cx: b[0], cy: b[1], r: 7 },
        svg("title", {}, `aim of ${item.name}`)),
      svg("path", { class: "plan-aim-cross", d: `M${b[0] - 11} ${b[1]}h6m10 0h6M${b[0]} ${b[1] - 11}v6m0 10v6` }),
    ];
  }

  turnHandle(item, at) {
    const way = wayOf(this.desk.turning ?? facingOf(item));
    const a = this.view.toPx(at);
    const far = Math.max(TURN_PX, this.reachPx(item) + 14);
    const b = [a[0] + far * way[0], a[1] - far * way[1]];
    return [
      svg("path", { class: "plan-aim-line", d: `M${a}L${b}` }),
      svg("circle", { class: "plan-handle is-turn", "data-handle": "turn", cx: b[0], cy: b[1], r: 7 },
        svg("title", {}, `turn ${item.name}`)),
    ];
  }

  reachPx(item) {
    const outline = item.it.outline ?? item.it.shoulders ?? [item.at];
    return this.view.scale * Math.min(1.2, Math.max(...outline.map((one) => distance(one, item.at))));
  }

  openingHandles(item) {
    return [["a", "first"], ["b", "other"]].map(([end, word]) =>
      this.square(item.it[end], end, `${word} side of ${item.name}`));
  }

  wallHandles(item) {
    const { a, b, number } = item.it;
    const room = this.plan.rooms.find((one) => one.name === item.it.room);
    const middle = this.desk.wallAt ?? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const words = length(distance(a, b), this.desk.units());
    const [x, y] = this.view.toPx(middle);
    const wide = widthOf(words) + 12;
    return [
      this.square(a, `corner ${number - 1}`, `corner of ${item.name}`),
      this.square(b, `corner ${number % room.floor.length}`, `corner of ${item.name}`),
      svg("g", { class: "plan-handle is-wall", "data-handle": "wall" },
        svg("rect", { x: x - wide / 2, y: y - 11, width: wide, height: 22, rx: 4 }),
        svg("text", { x, y: y + 4.5 }, words),
        svg("title", {}, `drag to move ${item.name}`)),
    ];
  }

  square(spot, handle, title) {
    const [x, y] = this.view.toPx(spot);
    const parts = { class: "plan-handle is-square", "data-handle": handle, x: x - 6, y: y - 6, width: 12, height: 12 };
    return svg("rect", parts, svg("title", {}, title));
  }
}

function highest(item) {
  return item.kind === "body" ? item.it.high_m + (item.it.section === "grip" ? 100 : 0) : 0;
}

/** Words beside the hand: where it would put the thing. */
function hintAt(view, { spot, words }) {
  const [px, py] = view.toPx(spot);
  const wide = widthOf(words) + 14;
  const x = Math.min(Math.max(px + 16, 22), view.size[0] - wide - 4);
  const y = Math.max(py - 36, 22);
  return svg(
    "g",
    { class: "plan-hint", "aria-hidden": "true" },
    svg("rect", { x, y, width: wide, height: 22, rx: 4 }),
    svg("text", { x: x + 7, y: y + 15 }, words),
  );
}
