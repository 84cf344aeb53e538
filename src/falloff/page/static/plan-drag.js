// Hands on the plan: choosing, moving, aiming, turning, pulling walls and windows.

import { length } from "./format.js";
import { Gesture } from "./plan-edits.js";
import {
  angleOf, clockHour, clockText, distance, gridStep, halfTurn, isInside, onWall, snapPlace, snapTo,
  tidy, wallFrame,
} from "./plan-geometry.js";
import { canMove, facingOf, subjectOf } from "./plan-items.js";
import { NEAR_PX, follow, measure, pickSpot } from "./plan-pointer.js";

const AT_ONCE = ["unit", "subject", "camera", "reading"]; // dragged without being chosen first

/**
 * Follow hands on a board; gives back what takes it off.
 * @param {import("./plan-board.js").Board} board @param {object} desk
 */
export function followHands(board, desk) {
  const { element } = board.view;
  const press = (event) => {
    if (event.button !== 0 && event.pointerType === "mouse") return;
    if (board.view.fingers.size) return board.view.followGround(event, () => {});
    if (desk.pressed) return;
    desk.under = null;
    if (desk.measuring) return measure(board, desk, event);
    if (desk.picking) return pickSpot(board, desk, event);
    const handle = event.target.closest("[data-handle]")?.dataset.handle;
    const top = event.target.closest("[data-key]")?.dataset.key;
    const key = heldOf(top, event);
    desk.under = key === top ? null : top;
    if (handle) return startHandle(board, desk, event, handle);
    const item = key && board.item(key);
    if (item && event.target.closest(".plan-beyond")) {
      desk.choose(key);
      return board.fit(true);
    }
    const atOnce = item && (AT_ONCE.includes(item.kind) || item.it.section === "grip");
    if (item && (atOnce || key === desk.chosen) && canMove(item)) {
      return startMove(board, desk, event, item);
    }
    board.view.followGround(event, (moved) => {
      if (moved) return;
      desk.choose(item ? top : null);
      if (item) board.groupOf(top)?.focus({ preventScroll: true });
    });
  };
  /** What a press takes hold of: what is chosen, should it lie under something else. */
  const heldOf = (top, { clientX, clientY }) => {
    const under = document.elementsFromPoint(clientX, clientY);
    const found = under.some((one) => one.closest("[data-key]")?.dataset.key === desk.chosen);
    const chosen = board.item(desk.chosen);
    return top && found && chosen && canMove(chosen) ? desk.chosen : top;
  };
  element.addEventListener("pointerdown", press);
  return () => element.removeEventListener("pointerdown", press);
}

// Moving -----------------------------------------------------------------------------------

function startMove(board, desk, event, item) {
  if (item.kind === "opening") return startOpening(board, desk, event, item, "both");
  const gesture = new Gesture(desk.app);
  const old = item.at;
  const start = board.view.spotOf(event);
  const outline = item.it.outline ?? null;
  let last = old;
  follow(board, event, {
    move(spot, next) {
      desk.dragging = item.key;
      const wanted = [old[0] + spot[0] - start[0], old[1] + spot[1] - start[1]];
      const subject = subjectOf(board.plan, item);
      const found = snapPlace(wanted, {
        plan: board.plan,
        units: desk.units(),
        reachM: NEAR_PX / board.view.scale,
        outline: item.kind === "body" ? outline : null,
        at: old,
        subject,
        free: next.shiftKey,
      });
      if (distance(found.at, last) < 5e-4) return;
      last = found.at;
      desk.hint = { spot, words: placeWords(last, subject, desk.units()) };
      board.move(item.key, last);
      gesture.send([{ do: "place", name: item.name, x_m: last[0], y_m: last[1] }]);
    },
    end: () => finish(board, desk, gesture),
    back(dragged) {
      if (dragged) {
        board.move(item.key, old);
        gesture.takeBack([{ do: "place", name: item.name, x_m: old[0], y_m: old[1] }]);
        desk.app.say(`${item.name} is back where it was`);
      }
      finish(board, desk, gesture);
    },
  });
  desk.choose(item.key);
  board.groupOf(item.key)?.focus({ preventScroll: true });
}

function placeWords(at, subject, units) {
  if (!subject) return `${length(at[0], units)}, ${length(at[1], units)}`;
  const [dx, dy] = [at[0] - subject.mark[0], at[1] - subject.mark[1]];
  const hour = clockText(clockHour(subject.facing_deg, dx, dy));
  return `${length(Math.hypot(dx, dy), units)}, ${hour}`;
}

/** The hand is off: what it held is the server's again. */
function finish(board, desk, gesture) {
  if (!desk.chosen) gesture.waiting = null; // another window has taken it away
  gesture.end();
  desk.dragging = null;
  desk.aiming = null;
  desk.turning = null;
  desk.wallAt = null;
  desk.hint = null;
  board.view.setBounds(board.near);
  board.settle();
  board.draw();
}

// Handles ----------------------------------------------------------------------------------

function startHandle(board, desk, event, handle) {
  const item = board.item(desk.chosen);
  if (!item) return;
  if (handle === "aim") startAim(board, desk, event, item);
  else if (handle === "turn") startTurn(board, desk, event, item);
  else if (handle === "wall") startWall(board, desk, event, item);
  else if (handle.startsWith("corner")) startCorner(board, desk, event, item, Number(handle.slice(7)));
  else startOpening(board, desk, event, item, handle);
}

function startAim(board, desk, event, item) {
  const gesture = new Gesture(desk.app);
  const { aim, aim_z_m: high, aims_at: name } = item.it;
  const put = (spot) => [{ do: "aim", name: item.name, x_m: spot[0], y_m: spot[1], z_m: high }];
  const named = (target) => [{ do: "aim", name: item.name, at: target }];
  follow(board, event, {
    move(spot, next) {
      const near = NEAR_PX * 1.6 / board.view.scale;
      const on = (one) => isInside(spot, one.shoulders) ||
        Math.min(distance(one.face, spot), distance(one.mark, spot)) < near;
      const person = next.shiftKey ? null : board.plan.subjects.find((one) => one.name !== item.name && on(one));
      const step = gridStep(desk.units());
      desk.aiming = person ? person.face
        : next.shiftKey ? spot.map(tidy) : spot.map((one) => tidy(snapTo(one, step)));
      const words = person ? `at ${person.name}.face` : placeWords(desk.aiming, null, desk.units());
      desk.hint = { spot, words };
      board.drawOver();
      gesture.send(person ? named(`${person.name}.face`) : put(desk.aiming));
    },
    end: () => finish(board, desk, gesture),
    back(dragged) {
      if (dragged) gesture.takeBack(name ? named(name) : put(aim));
      finish(board, desk, gesture);
    },
  });
}

function startTurn(board, desk, event, item) {
  const gesture = new Gesture(desk.app);
  const at = board.atOf(item);
  const old = facingOf(item);
  let sent = old;
  const send = (deg) => gesture.send(() => {
    const by = halfTurn(deg - sent);
    sent = deg;
    return Math.abs(by) > 0.01 ? [{ do: "turn", name: item.name, by_deg: tidy(by) }] : null;
  });
  follow(board, event, {
    move(spot, next) {
      const deg = angleOf(spot[0] - at[0], spot[1] - at[1]);
      desk.turning = next.shiftKey ? deg : snapTo(deg, 5);
      desk.hint = { spot, words: `${Math.round(desk.turning)}°` };
      board.drawOver();
      send(desk.turning);
    },
    end: () => finish(board, desk, gesture),
    refused() {
      sent = facingOf(board.item(item.key) ?? item);
    },
    back(dragged) {
      if (dragged) gesture.takeBack([{ do: "turn", name: item.name, by_deg: tidy(halfTurn(old - sent)) }]);
      finish(board, desk, gesture);
    },
  });
}

function startWall(board, desk, event, item) {
  const gesture = new Gesture(desk.app);
  const { a, b, number, room } = item.it;
  const { inward } = wallFrame(item.it);
  const start = onWall(item.it, board.view.spotOf(event)).off_m;
  let sent = 0;
  const send = (out) => gesture.send(() => {
    const by = tidy(out - sent);
    sent += by;
    return by ? [{ do: "wall", room, wall: number, by_m: by }] : null;
  });
  follow(board, event, {
    move(spot, next) {
      const off = start - onWall(item.it, spot).off_m;
      const out = next.shiftKey ? off : snapTo(off, gridStep(desk.units()));
      const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
      desk.wallAt = [middle[0] - out * inward[0], middle[1] - out * inward[1]];
      const far = length(Math.abs(out), desk.units());
      desk.hint = { spot, words: `${far} ${out < 0 ? "inward" : "outward"}` };
      board.drawOver();
      send(out);
    },
    end: () => finish(board, desk, gesture),
    refused() {
      const now = board.item(item.key);
      if (now) sent = -onWall(item.it, now.it.a).off_m;
    },
    back(dragged) {
      if (dragged) gesture.takeBack([{ do: "wall", room, wall: number, by_m: -sent }]);
      finish(board, desk, gesture);
    },
  });
}

function startCorner(board, desk, event, item, corner) {
  const gesture = new Gesture(desk.app);
  const { room } = item.it;
  const { floor } = board.plan.rooms.find((one) => one.name === room);
  const old = floor[corner];
  const put = ([x, y]) => [{ do: "corner", room, corner, x_m: x, y_m: y }];
  follow(board, event, {
    move(spot, next) {
      const step = gridStep(desk.units());
      const at = spot.map((one) => tidy(next.shiftKey ? one : snapTo(one, step)));
      desk.hint = { spot, words: placeWords(at, null, desk.units()) };
      board.drawOver();
      gesture.send(put(at));
    },
    end: () => finish(board, desk, gesture),
    back(dragged) {
      if (dragged) gesture.takeBack(put(old));
      finish(board, desk, gesture);
    },
  });
}

/** An opening along its wall, or one of its sides. @param {"a" | "b" | "both"} end */
function startOpening(board, desk, event, item, end) {
  const { it } = item;
  const wall = board.plan.walls.find((one) => one.room === it.room && one.number === it.wall);
  if (!wall) return startSkylight(board, desk, event, item);
  const gesture = new Gesture(desk.app);
  const start = onWall(wall, board.view.spotOf(event)).along_m;
  const put = (along, width) => [{ do: "opening", name: item.name, along_m: tidy(along), width_m: tidy(width) }];
  const old = [it.along_m, it.width_m];
  follow(board, event, {
    move(spot, next) {
      const by = onWall(wall, spot).along_m - start;
      const snap = (value) => (next.shiftKey ? value : snapTo(value, gridStep(desk.units())));
      let [along, width] = old;
      const { length: most } = wallFrame(wall);
      if (end === "both") along = Math.min(Math.max(snap(along + by), 0), most - width);
      if (end === "b") width = Math.min(Math.max(snap(width + by), 0.2), most - along);
      if (end === "a") {
        const first = Math.min(Math.max(snap(along + by), 0), along + width - 0.2);
        [along, width] = [first, along + width - first];
      }
      const units = desk.units();
      desk.hint = { spot, words: `${length(along, units)} along, ${length(width, units)} wide` };
      board.drawOver();
      gesture.send(put(along, width));
    },
    end: () => finish(board, desk, gesture),
    back(dragged) {
      if (dragged) gesture.takeBack(put(...old));
      finish(board, desk, gesture);
    },
  });
}

function startSkylight(board, desk, event, item) {
  const gesture = new Gesture(desk.app);
  const start = board.view.spotOf(event);
  const put = ([x, y]) => [{ do: "opening", name: item.name, x_m: tidy(x), y_m: tidy(y) }];
  follow(board, event, {
    move(spot, next) {
      const step = next.shiftKey ? 0.001 : gridStep(desk.units());
      const at = [0, 1].map((k) => snapTo(item.at[k] + spot[k] - start[k], step));
      desk.hint = { spot, words: placeWords(at, null, desk.units()) };
      board.move(item.key, at);
      gesture.send(put(at));
    },
    end: () => finish(board, desk, gesture),
    back(dragged) {
      if (dragged) gesture.takeBack(put(item.at));
      finish(board, desk, gesture);
    },
  });
}
