// What keys do on the plan and on the section.

import { length } from "./format.js";
import { Gesture } from "./plan-edits.js";
import { nudgeStep, onWall, tidy, wallFrame } from "./plan-geometry.js";
import { canMove, canRise, canTurn, facingOf, hasAim, heightOf } from "./plan-items.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const TURN_DEG = 5;
const RUN_MS = 1200; // keys pressed within this time are one step back

/**
 * Keys on a drawing. Gives back `off`, which takes them off, and `forget`, after which no key goes on
 * from where the last one went.
 * @param {SVGElement} element @param {object} desk
 * @param {{view: import("./plan-view.js").View, side: boolean, items: () => object[],
 *   focus: (key: string) => void, move?: (key: string, spot: number[]) => void}} board
 */
export function followKeys(element, desk, board) {
  const run = { gesture: null, what: "", at: 0, place: null };
  const gestureFor = (what) => {
    const now = Date.now();
    if (run.what !== what || now - run.at > RUN_MS) {
      run.gesture = new Gesture(desk.app);
      run.place = null;
    }
    run.what = what;
    run.at = now;
    return run;
  };

  const forget = () => {
    run.what = "";
  };

  /** A key is let go: the server may settle. */
  const lift = () => run.what && run.gesture.end();

  const press = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return forget();
    const items = board.items();
    const focused = document.activeElement?.closest?.("[data-key]")?.dataset.key;
    // What has the focus but is not chosen has to be chosen first: no key moves it by mistake.
    const key = focused && focused !== desk.chosen ? null : desk.chosen;
    const item = items.find((one) => one.key === key);
    if (event.key === "Tab") return step(event, items);
    const done = item ? onThing(event, item) : onGround(event);
    if (done || common(event)) {
      event.preventDefault();
      event.stopPropagation();
    }
  };

  /** Tab goes on to the next thing, and out of the drawing after the last one. */
  function step(event, items) {
    const way = event.shiftKey ? -1 : 1;
    const focused = document.activeElement?.closest?.("[data-key]")?.dataset.key;
    if (!focused) return passOver();
    const next = items[items.findIndex((one) => one.key === focused) + way];
    if (!next) return;
    event.preventDefault();
    desk.choose(next.key);
    board.focus(next.key);
  }

  /** From the drawing itself, which Escape leads to, Tab passes over all that stands on it. */
  function passOver() {
    const stops = [...element.querySelectorAll('[tabindex="0"]')];
    for (const one of stops) one.setAttribute("tabindex", "-1");
    setTimeout(() => {
      for (const one of stops) one.setAttribute("tabindex", "0");
    });
  }

  function onThing(event, item) {
    const fine = event.shiftKey;
    const units = desk.units();
    if (event.key in ARROWS) return nudge(item, ARROWS[event.key], nudgeStep(units, fine));
    switch (event.key) {
      case "[": case "{": return turn(item, TURN_DEG);
      case "]": case "}": return turn(item, -TURN_DEG);
      case "PageUp": return raise(item, nudgeStep(units, fine));
      case "PageDown": return raise(item, -nudgeStep(units, fine));
      case "Delete": case "Backspace": return desk.remove(item);
      case "d": case "D": return desk.duplicate(item);
      case "a": case "A": return desk.openAim(item);
      case "Enter": case " ": return desk.openSheet();
      case "Escape":
        if (desk.measure || desk.measuring || desk.picking) return false;
        desk.choose(null);
        element.focus({ preventScroll: true });
        return true;
      default: return false;
    }
  }

  function onGround(event) {
    if (event.key in ARROWS) {
      const [dx, dy] = ARROWS[event.key];
      board.view.pan(-40 * dx, 40 * dy);
      return true;
    }
    if (event.key === "Enter" || event.key === " ") {
      const key = document.activeElement?.closest?.("[data-key]")?.dataset.key;
      if (key) desk.choose(key);
      return Boolean(key);
    }
    return false;
  }

  function common(event) {
    switch (event.key) {
      case "+": case "=": board.view.zoom(1.25); return true;
      case "-": case "_": board.view.zoom(0.8); return true;
      case "0": desk.fit(); return true;
      case "m": case "M": return desk.setTool(desk.measuring ? "" : "measure");
      case "r": case "R": return desk.readHere();
      case "n": case "N": return desk.openAdd();
      case "Escape":
        if (!desk.measure && !desk.measuring && !desk.picking) return false;
        return desk.setTool("");
      default: return false;
    }
  }

  function nudge(item, [dx, dy], stepM) {
    if (board.side) return dy ? raise(item, dy * stepM) : true;
    if (item.kind === "wall") return pushWall(item, [dx * stepM, dy * stepM]);
    if (!canMove(item)) return true;
    if (item.kind === "opening" && item.it.wall !== null) return slide(item, [dx * stepM, dy * stepM]);
    const held = gestureFor(`place ${item.key}`);
    const from = held.place ?? item.at;
    held.place = [tidy(from[0] + dx * stepM), tidy(from[1] + dy * stepM)];
    board.move?.(item.key, held.place);
    const change = item.kind === "opening" ? "opening" : "place";
    held.gesture.send([{ do: change, name: item.name, x_m: held.place[0], y_m: held.place[1] }]);
    desk.app.say(`${item.name} at ${held.place.map((one) => length(one, desk.units())).join(", ")}`);
    return true;
  }

  /** A window or door along its wall, as far as an arrow points along it. */
  function slide(item, [dx, dy]) {
    const wall = desk.plan().walls.find((one) => one.room === item.it.room && one.number === item.it.wall);
    if (!wall) return true;
    const by = onWall(wall, [wall.a[0] + dx, wall.a[1] + dy]).along_m;
    if (Math.abs(by) < 1e-4) return true;
    const held = gestureFor(`opening ${item.key}`);
    const most = wallFrame(wall).length - item.it.width_m;
    held.place = tidy(Math.min(Math.max((held.place ?? item.it.along_m) + by, 0), most));
    held.gesture.send([{ do: "opening", name: item.name, along_m: held.place }]);
    desk.app.say(`${item.name} ${length(held.place, desk.units())} along its wall`);
    return true;
  }

  function pushWall(item, [dx, dy]) {
    const by = -onWall(item.it, [item.it.a[0] + dx, item.it.a[1] + dy]).off_m;
    if (Math.abs(by) < 1e-4) return true;
    const { room, number } = item.it;
    const held = gestureFor(`wall ${item.key}`);
    held.place = (held.place ?? 0) + by;
    held.gesture.send(() => {
      const far = tidy(held.place);
      held.place = 0;
      return far ? [{ do: "wall", room, wall: number, by_m: far }] : null;
    });
    return true;
  }

  function turn(item, byDeg) {
    if (!canTurn(item) && !hasAim(item)) return true;
    if (item.kind === "unit" && facingOf(item) === null) return true;
    const held = gestureFor(`turn ${item.key}`);
    held.place = (held.place ?? 0) + byDeg;
    held.gesture.send(() => {
      const by = held.place;
      held.place = 0;
      return by ? [{ do: "turn", name: item.name, by_deg: by }] : null;
    });
    return true;
  }

  function raise(item, byM) {
    if (!canRise(item)) return true;
    const held = gestureFor(`height ${item.key}`);
    const old = held.place ?? heightOf(item);
    held.place = tidy(Math.max(old + byM, Math.min(old, 0)));
    held.gesture.send(desk.heightChange(item, held.place));
    desk.app.say(`${item.name} ${length(held.place, desk.units())} up`);
    return true;
  }

  element.addEventListener("keydown", press);
  element.addEventListener("keyup", lift);
  return {
    forget,
    off() {
      element.removeEventListener("keydown", press);
      element.removeEventListener("keyup", lift);
    },
  };
}
