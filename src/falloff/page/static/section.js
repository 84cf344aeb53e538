// The section: the same rooms, people and lights from one side, where heights are set.

import { length } from "./format.js";
import { Gesture } from "./plan-edits.js";
import { boundsOf, distance, gridStep, snapTo, tidy } from "./plan-geometry.js";
import { canRise, heightOf, itemsOf, labelOf } from "./plan-items.js";
import { drawLabels } from "./plan-labels.js";
import { follow } from "./plan-pointer.js";
import { pathOf } from "./plan-shapes.js";
import { View, svg, widthOf } from "./plan-view.js";
import { drawRulers } from "./ruler.js";

const KINDS = ["unit", "subject", "camera", "body", "opening"];
const TOP_TO_TOE = { front: "looking up the plan", right: "looking in from the right of the plan" };

/** The drawing from one side. `side`: "front" is seen along +y, "right" along -x. */
export class SectionBoard {
  /** @param {HTMLElement} root @param {object} desk @param {"front" | "right"} side */
  constructor(root, desk, side) {
    this.desk = desk;
    this.side = side;
    this.items = [];
    this.raised = new Map(); // name -> metres: where a hand has it, before the server has
    this.view = new View(root, {
      label: `section, ${TOP_TO_TOE[side]}: up and down set the height of what is chosen`,
      onChange: () => this.drawOver(),
    });
    this.view.element.classList.add("plan-from-side");
    this.press = (event) => this.onPress(event);
    this.view.element.addEventListener("pointerdown", this.press);
  }

  close() {
    this.view.close();
  }

  item(key) {
    return this.items.find((one) => one.key === key);
  }

  show(plan) {
    this.plan = plan;
    this.items = itemsOf(plan).filter((one) => KINDS.includes(one.kind)).map((one) => this.turned(one));
    const [lowX, lowY, highX, highY] = plan.sections[this.side].bounds_m;
    this.near = [lowX - 0.2, lowY, highX + 0.2, highY + 0.1];
    if (!this.desk.pressed) this.view.setBounds(this.near);
    for (const [key, z] of this.raised) {
      const item = this.item(key);
      if (!item || (key !== this.desk.dragging && Math.abs(heightOf(item) - z) < 0.002)) this.raised.delete(key);
    }
    this.draw();
  }

  /** The server has refused an edit: all is shown where it really is. */
  refused() {
    if (this.desk.dragging) return;
    this.raised.clear();
    this.draw();
  }

  /** A thing as it is from the side: its place and outlines in (x or y, z). */
  turned(item) {
    const k = this.side === "front" ? 0 : 1;
    const { it } = item;
    const seen = it.sides[this.side];
    const flip = (spot, z) => (spot ? [spot[k], z] : null);
    const middle = item.kind === "opening" ? (it.sill_m + it.top_m) / 2 : item.z_m;
    const aim = flip(it.aim, it.aim_z_m);
    const at = [item.at[k], middle];
    const way = aim && distance(aim, at) > 0.02 ? Math.atan2(aim[1] - at[1], aim[0] - at[0]) : null;
    const around = seen.outlines[0] ?? [at];
    return {
      ...item,
      at,
      height_m: heightOf(item),
      it: {
        ...it,
        aim,
        pan_deg: way === null ? null : (way * 180) / Math.PI,
        face: around,
        body: seen.outlines[1] && item.kind === "unit" ? seen.outlines[1] : around,
        outline: around,
        shoulders: around,
        head: around.slice(0, 1),
        hole: around,
      },
    };
  }

  fit(all) {
    let [lowX, lowY, highX, highY] = this.near;
    if (all) {
      const bounds = boundsOf(this.items.map((one) => one.at));
      [lowX, lowY] = [Math.min(lowX, bounds[0] - 0.3), Math.min(lowY, bounds[1])];
      [highX, highY] = [Math.max(highX, bounds[2] + 0.3), Math.max(highY, bounds[3] + 0.3)];
    }
    this.view.bounds = [lowX, lowY, highX, highY];
    this.view.fit();
  }

  draw() {
    const { desk, plan, view } = this;
    if (!plan) return;
    const held = document.activeElement?.closest?.(".plan-item")?.dataset.key;
    const section = plan.sections[this.side];
    const rooms = [...section.rooms].reverse().flatMap((room) => [
      svg("path", { class: "plan-walls", d: room.walls.map((one) => pathOf(one)).join("") }),
      svg("path", { class: "plan-profile", d: pathOf(room.outline) }),
    ]);
    const beams = plan.units.filter((it) => it.sides[this.side].beam?.length &&
      (it.section === "fixtures" || it.name === desk.chosen));
    const light = beams.map((it) => svg("path", {
      class: `plan-beam${it.name === desk.chosen ? " is-chosen" : ""}`,
      d: pathOf(it.sides[this.side].beam),
    }));
    const order = { opening: 0, body: 1, subject: 2, camera: 3, unit: 4 };
    const farther = (a, b) => depth(b, this.side) - depth(a, this.side);
    const drawn = [...this.items].sort((a, b) => order[a.kind] - order[b.kind] || farther(a, b));
    const things = drawn.map((item) => this.group(item));
    view.world.replaceChildren(
      svg("g", { "aria-hidden": "true" }, ...rooms),
      svg("g", { class: "plan-light", "aria-hidden": "true" }, ...light),
      svg("g", { class: "plan-things" }, ...things),
    );
    if (held) this.groupOf(held)?.focus({ preventScroll: true });
    this.shiftRaised();
    const current = this.item(desk.chosen)?.key ?? this.items[0]?.key;
    for (const group of view.world.querySelectorAll(".plan-item")) {
      group.setAttribute("tabindex", group.dataset.key === current ? "0" : "-1");
    }
    view.element.setAttribute("tabindex", "-1");
    this.drawOver();
  }

  group(item) {
    const { desk } = this;
    const seen = item.it.sides[this.side].outlines;
    const chosen = item.key === desk.chosen;
    const used = item.kind === "camera" && item.name === desk.camera() ? " is-used" : "";
    const klass = {
      subject: "plan-shoulders",
      camera: `plan-camera-body${used}`,
      opening: "plan-side-opening",
      body: item.it.section === "grip" ? "plan-side-panel" : "plan-prop",
    }[item.kind];
    const group = svg("g", {
      class: `plan-item plan-${item.kind}${chosen ? " is-chosen" : ""}`,
      "data-key": item.key,
      role: "button",
      tabindex: -1,
      "aria-pressed": String(chosen),
      "aria-label": labelOf(desk.item(item.key) ?? item, desk.units()),
    });
    group.append(svg("title", {}, item.it.says ? `${item.name}: ${item.it.says}` : item.name));
    if (item.kind === "unit") {
      const [face, body, pole] = seen.length === 3 ? seen : [seen[0], seen.length > 1 ? seen[1] : null, null];
      group.append(svg("path", { class: "plan-hit-dot", d: `M${item.at[0]} ${item.at[1]}h0.0001` }));
      if (pole) group.append(svg("path", { class: "plan-pole", d: pathOf(pole) }));
      if (body) group.append(svg("path", { class: "plan-housing", d: pathOf(body) }));
      group.append(svg("path", { class: "plan-face", d: pathOf(face) }));
      return group;
    }
    const all = seen.map((one) => pathOf(one)).join("");
    group.append(svg("path", { class: "plan-hit", d: all }), svg("path", { class: klass, d: all }));
    return group;
  }

  groupOf(key) {
    return this.view.world.querySelector(`.plan-item[data-key="${CSS.escape(key)}"]`);
  }

  shiftRaised() {
    for (const [key, z] of this.raised) {
      const item = this.item(key);
      this.groupOf(key)?.setAttribute("transform", `translate(0 ${z - item.height_m})`);
    }
  }

  asRaised(item) {
    const z = this.raised.get(item.key);
    if (z === undefined) return item;
    const by = z - item.height_m;
    const up = (points) => points?.map(([x, y]) => [x, y + by]);
    const { it } = item;
    return { ...item, at: [item.at[0], item.at[1] + by], height_m: z,
      it: { ...it, face: up(it.face), body: up(it.body), outline: up(it.outline), hole: up(it.hole) } };
  }

  drawOver() {
    const { desk, view } = this;
    if (!this.plan || !view.size[0]) return;
    const shown = this.items.map((item) => this.asRaised(item));
    const labels = drawLabels(view, shown, { chosen: desk.chosen, camera: desk.camera() });
    const chosen = shown.find((one) => one.key === desk.chosen);
    const over = [labels];
    if (chosen && canRise(chosen)) over.push(this.heightLine(chosen));
    view.over.replaceChildren(...over, ...drawRulers(view, desk.units()));
  }

  /** How high what is chosen stands, from the floor. */
  heightLine(item) {
    const low = this.view.toPx([item.at[0], 0]);
    const high = this.view.toPx([item.at[0], item.height_m]);
    const words = length(item.height_m, this.desk.units());
    const wide = widthOf(words) + 10;
    const y = (low[1] + high[1]) / 2;
    return svg(
      "g",
      { class: "plan-distance", "aria-hidden": "true" },
      svg("path", { d: `M${low}L${high}M${low[0] - 6} ${low[1]}h12M${high[0] - 6} ${high[1]}h12` }),
      svg("rect", { x: low[0] - wide / 2, y: y - 9, width: wide, height: 18, rx: 3 }),
      svg("text", { x: low[0], y: y + 4 }, words),
    );
  }

  onPress(event) {
    if (event.button !== 0 && event.pointerType === "mouse") return;
    if (this.view.fingers.size) {
      this.view.followGround(event, () => {});
      return;
    }
    if (this.desk.pressed) return;
    const key = event.target.closest("[data-key]")?.dataset.key;
    const item = key && this.item(key);
    if (item && event.target.closest(".plan-beyond")) {
      this.desk.choose(key);
      this.fit(true);
      return;
    }
    this.desk.under = null;
    const ready = item && canRise(item) && (item.kind === "unit" || key === this.desk.chosen);
    if (ready) {
      this.startRaise(event, item);
      return;
    }
    this.view.followGround(event, (moved) => {
      if (moved) return;
      this.desk.choose(item ? key : null);
      if (item) this.groupOf(key)?.focus({ preventScroll: true });
    });
  }

  /** Drag a thing up or down. */
  startRaise(event, item) {
    const { desk, view } = this;
    const gesture = new Gesture(desk.app);
    const start = view.spotOf(event);
    const old = item.height_m;
    let last = old;
    const finish = () => {
      if (!desk.chosen) gesture.waiting = null; // another window has taken it away
      gesture.end();
      desk.dragging = null;
      setTimeout(() => this.raised.delete(item.key) && this.draw(), 1500);
      this.view.setBounds(this.near);
      this.draw();
    };
    follow(this, event, {
      move: (spot, next) => {
        desk.dragging = item.key;
        const wanted = old + spot[1] - start[1];
        const z = Math.max(0, tidy(next.shiftKey ? wanted : snapTo(wanted, gridStep(desk.units()))));
        if (Math.abs(z - last) < 5e-4) return;
        last = z;
        this.raise(item.key, z);
        gesture.send(desk.heightChange(item, z));
      },
      end: finish,
      back: (dragged) => {
        if (dragged) {
          this.raise(item.key, old);
          gesture.takeBack(desk.heightChange(item, old));
          desk.app.say(`${item.name} is as high as it was`);
        }
        finish();
      },
    });
    desk.choose(item.key);
    this.groupOf(item.key)?.focus({ preventScroll: true });
  }

  raise(key, z) {
    this.raised.set(key, z);
    this.shiftRaised();
    this.drawOver();
  }
}

/** How far away a thing is from who looks from a side. */
function depth(item, side) {
  const { it } = item;
  const at = it.at ?? it.mark ?? it.a;
  return side === "front" ? at[1] : -at[0];
}
