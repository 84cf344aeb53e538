// Rulers along two edges, a faint grid, a scale bar, and the line that measures.

import { length } from "./format.js";
import { distance, middleOf, tickStep } from "./plan-geometry.js";
import { svg, widthOf } from "./plan-view.js";

const FOOT_M = 0.3048; // source: the international foot
const STRIP_PX = 18;

/**
 * Draw grid and rulers for what is seen. @param {import("./plan-view.js").View} view
 * @param {"metric" | "imperial"} units
 */
export function drawRulers(view, units) {
  const [width, height] = view.size;
  const [left, top] = view.toMetres([0, 0]);
  const [right, low] = view.toMetres([width, height]);
  const unit = units === "imperial" ? FOOT_M : 1;
  const grid = [];
  const line = Math.max(unit, tickStep(view.scale, units, 14));
  for (const x of steps(left, right, line)) {
    const [px] = view.toPx([x, 0]);
    grid.push(`M${px.toFixed(1)} 0V${height}`);
  }
  for (const y of steps(low, top, line)) {
    const [, py] = view.toPx([0, y]);
    grid.push(`M0 ${py.toFixed(1)}H${width}`);
  }
  view.under.replaceChildren(svg("path", { class: "plan-grid", d: grid.join("") }));

  const strips = svg("g", { class: "plan-rulers", "aria-hidden": "true" });
  strips.append(
    svg("rect", { class: "plan-strip", x: 0, y: 0, width, height: STRIP_PX }),
    svg("rect", { class: "plan-strip", x: 0, y: 0, width: STRIP_PX, height }),
  );
  const told = tickStep(view.scale, units, 44);
  const ticks = [];
  for (const x of steps(left, right, told)) {
    const [px] = view.toPx([x, 0]);
    if (px < STRIP_PX + 4) continue;
    ticks.push(`M${px.toFixed(1)} ${STRIP_PX}v-5`);
    strips.append(svg("text", { x: px + 3, y: 12, class: "plan-tick" }, figure(x, units)));
  }
  for (const y of steps(low, top, told)) {
    const [, py] = view.toPx([0, y]);
    if (py < STRIP_PX + 12) continue;
    ticks.push(`M${STRIP_PX} ${py.toFixed(1)}h-5`);
    const turned = { x: -(py - 3), y: 12, class: "plan-tick", transform: "rotate(-90)" };
    strips.append(svg("text", turned, figure(y, units)));
  }
  strips.append(
    svg("path", { class: "plan-ticks", d: ticks.join("") }),
    svg("rect", { class: "plan-strip", x: 0, y: 0, width: STRIP_PX, height: STRIP_PX }),
    svg("text", { x: STRIP_PX / 2, y: 12, class: "plan-tick plan-unit-mark" },
      units === "imperial" ? "ft" : "m"),
  );
  return [strips, scaleBar(view, units)];
}

/** A bar of a whole length in the lower left, on paper of its own. */
function scaleBar(view, units) {
  const step = tickStep(view.scale, units, 56);
  const wide = step * view.scale;
  const [x, y] = [STRIP_PX + 12, view.size[1] - 12];
  const words = length(step, units).replace(/\.00 m$/, " m");
  const half = wide / 2;
  return svg(
    "g",
    { class: "plan-bar", "aria-label": `scale: the bar is ${words} long`, role: "img" },
    svg("rect", { class: "plan-bar-back", x: x - 6, y: y - 22, width: wide + 12, height: 28, rx: 3 }),
    svg("rect", { class: "plan-bar-half", x, y: y - 4, width: half, height: 4 }),
    svg("rect", { class: "plan-bar-rest", x: x + half, y: y - 4, width: half, height: 4 }),
    svg("text", { x: x + half, y: y - 8, class: "plan-bar-words" }, words),
  );
}

/** The line that measures from one point to another, in pixels. */
export function measured(view, from, to, units) {
  const [a, b] = [view.toPx(from), view.toPx(to)];
  const far = distance(from, to);
  const [x, y] = middleOf([a, b]);
  const words = length(far, units);
  const wide = widthOf(words) + 12;
  const across = distance(a, b) || 1;
  const [nx, ny] = [(-(b[1] - a[1]) / across) * 6, ((b[0] - a[0]) / across) * 6];
  const ends = [a, b].map(([px, py]) => `M${px - nx} ${py - ny}L${px + nx} ${py + ny}`);
  return svg(
    "g",
    { class: "plan-measure" },
    svg("path", { d: `M${a[0]} ${a[1]}L${b[0]} ${b[1]}${ends.join("")}` }),
    svg("rect", { x: x - wide / 2, y: y - 11, width: wide, height: 22, rx: 4 }),
    svg("text", { x, y: y + 4.5 }, words),
  );
}

function* steps(low, high, step) {
  for (let k = Math.ceil(low / step); k <= high / step; k++) yield k * step;
}

function figure(metres, units) {
  const value = units === "imperial" ? metres / FOOT_M : metres;
  return String(Math.round(value * 100) / 100 + 0).replace("-", "−");
}
