// The sheet that plan and section are drawn on: metres to pixels, zoom, pan, pinch.

const SVG = "http://www.w3.org/2000/svg";
const LEAST_PX_PER_M = 14;
const MOST_PX_PER_M = 900;

/**
 * An SVG element with attributes. @param {string} name @param {Object<string, unknown>} parts
 * @returns {SVGElement}
 */
export function svg(name, parts = {}, ...children) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(parts)) {
    if (value !== null && value !== undefined) element.setAttribute(key, String(value));
  }
  element.append(...children);
  return element;
}

const pen = document.createElement("canvas").getContext("2d");
const widths = new Map();

/** How wide words are in the page's type, in pixels. @param {string} words */
export function widthOf(words, { px = 12, bold = false } = {}) {
  const font = `${bold ? 600 : 400} ${px}px ${getComputedStyle(document.documentElement).fontFamily}`;
  const key = `${font} ${words}`;
  let wide = widths.get(key);
  if (wide === undefined && pen) {
    pen.font = font;
    wide = Math.ceil(pen.measureText(words).width);
    widths.set(key, wide);
  }
  return wide ?? 0.6 * px * words.length;
}

/**
 * A drawing in metres, up is up. `world` holds what is drawn to scale, `over` what is drawn in
 * pixels; `onChange` is called whenever a metre lies elsewhere than before.
 */
export class View {
  /** @param {HTMLElement} root @param {{label: string, onChange: () => void}} how */
  constructor(root, { label, onChange }) {
    this.onChange = onChange;
    this.scale = 80; // pixels a metre
    this.shift = [0, 0]; // pixels of the origin
    this.size = [0, 0];
    this.bounds = null;
    this.world = svg("g", { class: "plan-world" });
    this.over = svg("g", { class: "plan-over" });
    this.under = svg("g", { class: "plan-under" });
    this.element = svg(
      "svg",
      { class: "plan-sheet", role: "application", "aria-label": label, tabindex: 0 },
      this.under, this.world, this.over,
    );
    root.append(this.element);
    this.insets = [26, 26, 26, 38]; // pixels kept free: left, top, right, bottom
    this.touched = false; // whether a hand has set zoom or pan
    this.fingers = new Map();
    this.resize = new ResizeObserver(() => this.measure());
    this.resize.observe(this.element);
    this.element.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
  }

  /** Take it down. */
  close() {
    this.resize.disconnect();
    this.element.remove();
  }

  /** Least and greatest of both ways that are to be seen (m). */
  setBounds(bounds) {
    const alike = this.bounds && bounds.every((one, k) => Math.abs(one - this.bounds[k]) < 1e-6);
    this.bounds = bounds;
    if (!alike && !this.touched) this.fit();
  }

  measure() {
    const box = this.element.getBoundingClientRect();
    const before = this.size;
    this.size = [box.width, box.height];
    if (!box.width || !this.bounds) return;
    if (!this.touched || !before[0]) this.fit();
    else {
      this.shift = [
        this.shift[0] + (box.width - before[0]) / 2,
        this.shift[1] + (box.height - before[1]) / 2,
      ];
      this.changed();
    }
  }

  /** Show all of it. */
  fit() {
    this.touched = false;
    const [width, height] = this.size;
    if (!width || !this.bounds) return;
    const [lowX, lowY, highX, highY] = this.bounds;
    const [left, top, right, bottom] = this.insets;
    const room = [width - left - right, height - top - bottom];
    this.scale = Math.min(room[0] / (highX - lowX), room[1] / (highY - lowY));
    this.scale = Math.min(Math.max(this.scale, LEAST_PX_PER_M), MOST_PX_PER_M);
    this.shift = [
      left + room[0] / 2 - (this.scale * (lowX + highX)) / 2,
      top + room[1] / 2 + (this.scale * (lowY + highY)) / 2,
    ];
    this.changed();
  }

  changed() {
    const [x, y] = this.shift;
    this.world.setAttribute("transform", `matrix(${this.scale} 0 0 ${-this.scale} ${x} ${y})`);
    this.onChange();
  }

  /** @param {[number, number]} point in metres @returns {[number, number]} in pixels */
  toPx([x, y]) {
    return [this.shift[0] + this.scale * x, this.shift[1] - this.scale * y];
  }

  /** @param {[number, number]} point in pixels @returns {[number, number]} in metres */
  toMetres([x, y]) {
    return [(x - this.shift[0]) / this.scale, (this.shift[1] - y) / this.scale];
  }

  /** Where a pointer is, in metres. @param {PointerEvent} event @returns {[number, number]} */
  spotOf(event) {
    return this.toMetres(this.pxOf(event));
  }

  pxOf(event) {
    const box = this.element.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  /** The middle of what is seen, in metres. @returns {[number, number]} */
  middle() {
    return this.toMetres([this.size[0] / 2, this.size[1] / 2]);
  }

  /** Zoom about a point in pixels, the middle if none. @param {number} by */
  zoom(by, about = [this.size[0] / 2, this.size[1] / 2]) {
    const spot = this.toMetres(about);
    this.scale = Math.min(Math.max(this.scale * by, LEAST_PX_PER_M), MOST_PX_PER_M);
    this.shift = [about[0] - this.scale * spot[0], about[1] + this.scale * spot[1]];
    this.touched = true;
    this.changed();
  }

  /** @param {number} dx @param {number} dy pixels */
  pan(dx, dy) {
    this.shift = [this.shift[0] + dx, this.shift[1] + dy];
    this.touched = true;
    this.changed();
  }

  wheel(event) {
    event.preventDefault();
    if (event.shiftKey && !event.ctrlKey) this.pan(-event.deltaY - event.deltaX, 0);
    else this.zoom(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015)), this.pxOf(event));
  }

  /**
   * Follow a finger or a mouse on the ground: one pans, two pinch.
   * @param {PointerEvent} event the press @param {(moved: boolean) => void} done
   */
  followGround(event, done) {
    const held = this.fingers;
    held.set(event.pointerId, this.pxOf(event));
    this.element.setPointerCapture(event.pointerId);
    if (held.size > 1) return;
    let far = 0;
    const move = (next) => {
      if (!held.has(next.pointerId)) return;
      const old = new Map(held);
      held.set(next.pointerId, this.pxOf(next));
      const was = old.get(next.pointerId);
      const now = held.get(next.pointerId);
      far += Math.hypot(now[0] - was[0], now[1] - was[1]);
      if (held.size === 1 && far > 3) this.pan(now[0] - was[0], now[1] - was[1]);
      if (held.size === 2) {
        const [a, b] = [...held.values()];
        const [c, d] = [...old.values()];
        const before = Math.hypot(c[0] - d[0], c[1] - d[1]);
        const about = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
        this.pan(about[0] - (c[0] + d[0]) / 2, about[1] - (c[1] + d[1]) / 2);
        if (before > 4) this.zoom(Math.hypot(a[0] - b[0], a[1] - b[1]) / before, about);
      }
    };
    const up = (last) => {
      held.delete(last.pointerId);
      if (held.size) return;
      this.element.removeEventListener("pointermove", move);
      this.element.removeEventListener("pointerup", up);
      this.element.removeEventListener("pointercancel", up);
      done(far > 3);
    };
    this.element.addEventListener("pointermove", move);
    this.element.addEventListener("pointerup", up);
    this.element.addEventListener("pointercancel", up);
  }
}
