// Where the sun falls, on the plan: outlines with a light hatch, named with their hour.

import { clockText, timeText } from "./day-clock.js";
import { svg, widthOf } from "./plan-view.js";

const NEAR_MIN = 0.5;
const HATCH_M = 0.1;
const AGAIN_MS = 1500;

/** The patches of sun of the setup that is shown, as they stand at its hour. */
export class SunOnPlan {
  /** @param {any} app @param {() => void} onChange what is drawn in pixels is to be drawn anew */
  constructor(app, onChange) {
    this.app = app;
    this.onChange = onChange;
    this.group = svg("g", { class: "plan-sun", "aria-hidden": "true" });
    this.hatch = svg("defs", {}, svg("pattern",
      { id: "plan-sun-hatch", width: HATCH_M, height: HATCH_M, patternUnits: "userSpaceOnUse", patternTransform: "rotate(55)" },
      svg("line", { class: "plan-sun-hatch", x1: 0, y1: 0, x2: 0, y2: HATCH_M })));
    /** What was asked for, and what came. @type {{key: string, patches: any[], minute: number} | null} */
    this.told = null;
    this.asks = false;
    this.shown = "";
    /** @type {number | undefined} */
    this.timer = undefined;
    this.closed = false;
    const draw = () => this.draw();
    this.stops = [
      app.days.watch(draw),
      app.look.watch((/** @type {any} */ look) => look.setup, draw),
      app.store.watch((/** @type {any} */ tree) => tree?.plans, draw),
      app.light.watch(draw),
    ];
  }

  close() {
    this.closed = true;
    clearTimeout(this.timer);
    this.stops.forEach((stop) => stop());
  }

  /** What the patches hang on. */
  key() {
    const { setup } = this.app.look.state;
    const minute = this.app.days.minute(setup);
    if (minute === null) return "";
    const { rev, tree } = this.app;
    const light = this.app.light.of(setup);
    // A new trace may cast other shadows.
    const full = light && light.pass === "full" && light.pending.size === 0 ? rev : "";
    return JSON.stringify([setup, minute, tree.day.at[setup].date, full]);
  }

  draw() {
    const key = this.key();
    const { setup } = this.app.look.state;
    const minute = this.app.days.minute(setup);
    if (minute !== null && this.told?.key !== key) this.ask(key, setup, minute);
    const now = minute === null ? { patches: [], minute: 0 } : this.nearest(setup, minute);
    const shown = JSON.stringify([now.minute, now.patches]);
    if (shown === this.shown) return;
    this.shown = shown;
    this.now = now;
    const paths = now.patches.flatMap((/** @type {any} */ patch) => patch.outlines.map((/** @type {any} */ line) =>
      svg("path", { class: "plan-sun-patch", d: `M${line.map((/** @type {number[]} */ at) => at.join(" ")).join("L")}Z` })));
    this.group.replaceChildren(this.hatch, ...paths);
    this.onChange();
  }

  /** The hour's own patches where they are there, else those that are nearest to it. */
  nearest(setup, minute) {
    const own = this.told && JSON.parse(this.told.key)[0] === setup ? this.told : null;
    if (own && Math.abs(own.minute - minute) < NEAR_MIN) return own;
    const hourly = this.app.days.of(setup)?.patches ?? [];
    const all = own ? [own, ...hourly] : hourly;
    return all.reduce((best, one) => (Math.abs(one.minute - minute) < Math.abs(best.minute - minute) ? one : best), all[0] ?? { minute, patches: [] });
  }

  /** One question at a time; the newest hour is asked for next. */
  async ask(key, setup, minute) {
    if (this.asks || this.closed) return;
    this.asks = true;
    const at = timeText(this.app.days.hourOf(setup).clock, minute);
    let again = 0;
    try {
      this.told = { key, minute, patches: await this.app.ask("sun", { setup, at }) };
    } catch {
      again = AGAIN_MS;
    }
    this.asks = false;
    if (this.closed) return;
    clearTimeout(this.timer);
    if (again) this.timer = setTimeout(() => this.draw(), again);
    else this.draw();
  }

  /** The name of the largest patch on the floor, in pixels. @param {any} view */
  label(view) {
    const lines = (this.now?.patches ?? []).flatMap((/** @type {any} */ patch) => patch.outlines);
    if (lines.length === 0) return [];
    const middle = (/** @type {number[][]} */ line) => [0, 1].map((k) => line.reduce((sum, at) => sum + at[k], 0) / line.length);
    const size = (/** @type {number[][]} */ line) => Math.abs(line.reduce((sum, [x, y], i) => {
      const [u, v] = line[(i + 1) % line.length];
      return sum + x * v - u * y;
    }, 0));
    const largest = lines.reduce((best, line) => (size(line) > size(best) ? line : best));
    const x = view.toPx(middle(largest))[0];
    const y = 12 + Math.max(...largest.map((/** @type {[number, number]} */ at) => view.toPx(at)[1]));
    const clock = this.app.days.hourOf(this.app.look.state.setup)?.clock;
    const words = clock ? `sun ${clockText(clock, this.now.minute)}` : "sun";
    const wide = widthOf(words) + 8;
    const name = svg("g", { class: "plan-sun-name", "aria-hidden": "true" },
      svg("rect", { x: x - wide / 2, y: y - 9, width: wide, height: 18, rx: 3 }), svg("text", { x, y: y + 4 }, words));
    return [Object.assign(name, { box: [[x - wide / 2, y - 9, x + wide / 2, y + 9]] })];
  }
}
