// The plan's symbols to scale, in metres: rooms, openings, bodies, people, lights, cameras.

import { boundsOf, middleOf, wayOf } from "./plan-geometry.js";
import { svg } from "./plan-view.js";

/** A path of an outline; open: not joined to its start. */
export function pathOf(points, open = false) {
  if (!points.length) return "";
  return `M${points.map(([x, y]) => `${x} ${y}`).join("L")}${open ? "" : "Z"}`;
}

/** A dot of so many pixels wherever a metre lies. */
function dot([x, y], klass) {
  return svg("path", { class: klass, d: `M${x} ${y}h0.0001` });
}

// The rooms --------------------------------------------------------------------------------

/** Floors and walls; walls can be chosen by their inside face. */
export function drawShell(plan) {
  const floors = svg("g", { class: "plan-floors", "aria-hidden": "true" });
  for (const room of plan.rooms) floors.append(svg("path", { class: "plan-floor", d: pathOf(room.floor) }));
  const walls = svg("path", {
    class: "plan-walls",
    "aria-hidden": "true",
    d: plan.shell.map((rings) => rings.map((ring) => pathOf(ring)).join("")).join(""),
  });
  return [floors, walls];
}

/** @param {import("./plan-items.js").Item} item @param {{camera: string}} how */
export function drawItem(item, how) {
  const group = svg("g", {
    class: `plan-item plan-${item.kind}`,
    "data-key": item.key,
    role: "button",
    tabindex: -1,
  });
  const parts = {
    wall: drawWall,
    opening: drawOpening,
    body: item.it.section === "grip" ? drawGrip : drawProp,
    subject: drawSubject,
    camera: drawCamera,
    unit: drawUnit,
    reading: drawReading,
  }[item.kind](item.it, how);
  group.append(...parts);
  return group;
}

function drawWall(it) {
  const d = pathOf([it.a, it.b], true);
  return [svg("path", { class: "plan-hit", d }), svg("path", { class: "plan-wall-line", d })];
}

function drawOpening(it) {
  const parts = [svg("path", { class: "plan-hit", d: pathOf([it.a, it.b], true) })];
  const hole = it.hole;
  if (it.kind === "skylight") {
    parts.push(
      svg("path", { class: "plan-hit", d: pathOf(hole) }),
      svg("path", {
        class: "plan-skylight",
        d: [hole, [hole[0], hole[2]], [hole[1], hole[3]]].map((one) => pathOf(one, one.length < 3)).join(""),
      }),
    );
    return parts;
  }
  parts.push(svg("path", { class: "plan-hole", d: pathOf(hole) }));
  if (it.kind === "window") {
    const [near, nearEnd, farEnd, far] = hole;
    const between = (a, b, share) => [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
    const panes = [0.42, 0.58].map((share) =>
      pathOf([between(near, far, share), between(nearEnd, farEnd, share)], true));
    parts.push(svg("path", { class: "plan-pane", d: panes.join("") }));
  }
  if (it.swing) {
    parts.push(svg("path", { class: "plan-swing", d: pathOf(it.swing, true) }));
  }
  if (it.leaf) parts.push(svg("path", { class: "plan-leaf", d: pathOf(it.leaf) }));
  return parts;
}

// What stands in them ----------------------------------------------------------------------

function drawProp(it) {
  const d = pathOf(it.outline);
  const raised = it.low_m > 1.2 ? " is-high" : "";
  return [svg("path", { class: "plan-hit", d }), svg("path", { class: `plan-prop${raised}`, d })];
}

function drawGrip(it) {
  const d = pathOf(it.outline);
  const parts = [svg("path", { class: "plan-hit", d })];
  if (it.stand) parts.push(feet(it.at));
  const known = ["solid", "bounce", "frame", "net", "mirror"].includes(it.form) ? it.form : "solid";
  parts.push(svg("path", { class: `plan-panel is-${known}`, d }));
  if (known === "bounce" || known === "mirror") parts.push(svg("path", { class: "plan-panel-core", d }));
  return parts;
}

function drawSubject(it) {
  const way = wayOf(it.gaze_deg);
  const head = middleOf(it.head);
  const [lowX, , highX] = boundsOf(it.head);
  const radius = (highX - lowX) / 2;
  const side = [-way[1], way[0]];
  const spot = (ahead, aside) => [
    head[0] + ahead * radius * way[0] + aside * radius * side[0],
    head[1] + ahead * radius * way[1] + aside * radius * side[1],
  ];
  const [x, y] = it.mark;
  return [
    svg("path", { class: "plan-hit", d: pathOf(it.shoulders) }),
    svg("path", { class: "plan-shoulders", d: pathOf(it.shoulders) }),
    svg("path", { class: "plan-head", d: pathOf(it.head) }),
    svg("path", { class: "plan-nose", d: pathOf([spot(0.9, 0.4), spot(1.55, 0), spot(0.9, -0.4)]) }),
    svg("path", { class: "plan-mark", d: `M${x - 0.07} ${y}h0.14M${x} ${y - 0.07}v0.14` }),
  ];
}

function drawCamera(it, how) {
  const used = it.name === how.camera ? " is-used" : "";
  return [
    svg("path", { class: "plan-hit", d: pathOf(it.body) }),
    dot(it.at, "plan-hit-dot"),
    svg("path", { class: `plan-camera-body${used}`, d: pathOf(it.body) }),
  ];
}

function drawUnit(it) {
  const parts = [dot(it.at, "plan-hit-dot"), svg("path", { class: "plan-hit", d: pathOf(it.body ?? it.face) })];
  if (it.stand) parts.push(feet(it.body ? middleOf(it.body) : it.at));
  if (it.body) parts.push(svg("path", { class: "plan-housing", d: pathOf(it.body) }));
  parts.push(svg("path", { class: "plan-face", d: pathOf(it.face) }));
  return parts;
}

function drawReading(it) {
  return [dot(it.at, "plan-hit-dot"), dot(it.at, "plan-reading-dot")];
}

/** The feet of a stand: 42 cm out from its pole, as the picture has them. */
function feet([x, y]) {
  const lines = [0, 1, 2].map((k) => {
    const angle = 0.4 + (k * 2 * Math.PI) / 3;
    return `M${x} ${y}L${x + 0.42 * Math.cos(angle)} ${y + 0.42 * Math.sin(angle)}`;
  });
  return svg("path", { class: "plan-feet", d: lines.join("") });
}

// Light ------------------------------------------------------------------------------------

/** Beams of fixtures, of the chosen light, and what the setup's camera sees. */
export function drawLight(plan, how) {
  const parts = [];
  for (const it of plan.cameras) {
    const used = it.name === how.camera;
    if (!used && it.name !== how.chosen) continue;
    parts.push(svg("path", { class: `plan-field${used ? " is-used" : ""}`, d: pathOf(it.field) }));
  }
  for (const it of plan.units) {
    const chosen = it.name === how.chosen;
    if (!it.beam || (it.section === "practicals" && !chosen)) continue;
    parts.push(
      svg("path", { class: `plan-beam${chosen ? " is-chosen" : ""}`, d: pathOf(it.beam) }),
    );
  }
  return svg("g", { class: "plan-light", "aria-hidden": "true" }, ...parts);
}
