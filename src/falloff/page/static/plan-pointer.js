// One pointer from its press until it is let go; measuring with it, and a spot for a reading.

import { length } from "./format.js";
import { distance, isInside, tidy, wayOf } from "./plan-geometry.js";

const START_PX = 4; // a press that goes no further is a click
export const NEAR_PX = 9; // what is nearer snaps
const BEFORE_FACE_M = 0.03; // where a meter is held, so that it is clear of the skin

/**
 * Follow one pointer from its press: `move` at each step once it has gone far enough, `end` when
 * it is let go, `back` when Escape is pressed or the pointer is lost, `refused` when the server
 * has refused an edit meanwhile. Should what it holds be gone, `end` is called. A click chooses
 * `desk.under`, if something lies over what is held.
 */
export function follow(board, event, { move, end, back, refused }) {
  const { desk } = board;
  const { element } = board.view;
  const start = board.view.pxOf(event);
  let dragging = false;
  element.setPointerCapture(event.pointerId);
  event.preventDefault();
  const stop = () => {
    element.removeEventListener("pointermove", onMove);
    element.removeEventListener("pointerup", onUp);
    element.removeEventListener("pointercancel", onLost);
    document.removeEventListener("keydown", onKey, true);
    desk.grip = null;
    desk.pressed = false;
  };
  const onMove = (next) => {
    if (next.pointerId !== event.pointerId) return;
    const px = board.view.pxOf(next);
    dragging ||= distance(start, px) > START_PX;
    if (dragging) move(board.view.toMetres(px), next);
  };
  const onUp = (last) => {
    if (last.pointerId !== event.pointerId) return;
    stop();
    end(dragging);
    if (dragging || !desk.under) return;
    desk.choose(desk.under);
    desk.focusChosen();
  };
  const onLost = () => {
    stop();
    back(dragging);
  };
  const onKey = (key) => {
    if (key.key !== "Escape") return;
    key.preventDefault();
    key.stopPropagation();
    onLost();
  };
  element.addEventListener("pointermove", onMove);
  element.addEventListener("pointerup", onUp);
  element.addEventListener("pointercancel", onLost);
  document.addEventListener("keydown", onKey, true);
  desk.grip = {
    refused: () => refused?.(),
    gone() {
      stop();
      end(dragging);
    },
  };
  desk.pressed = true;
}

/** Measure from where a pointer is pressed to where it is let go. */
export function measure(board, desk, event) {
  const near = (spot, free) => {
    if (free) return spot;
    const reach = NEAR_PX / board.view.scale;
    const spots = board.items.filter((one) => one.kind !== "wall").map((one) => one.at)
      .concat(board.plan.rooms.flatMap((room) => room.floor));
    return spots.find((one) => distance(one, spot) < reach) ?? spot;
  };
  const from = near(board.view.spotOf(event), event.shiftKey);
  follow(board, event, {
    move(spot, next) {
      desk.measure = { from, to: near(spot, next.shiftKey) };
      board.drawOver();
    },
    end() {
      if (!desk.measure) return;
      const far = distance(desk.measure.from, desk.measure.to);
      desk.app.say(`${length(far, desk.units())} between the two points`);
    },
    back() {
      desk.measure = null;
      board.drawOver();
    },
  });
}

/** A click puts a meter there; a drag moves what is seen, as it always does. */
export function pickSpot(board, desk, event) {
  board.view.followGround(event, (moved) => {
    if (!moved) desk.readAt(board.view.spotOf(event));
  });
}

/**
 * A spot of the plan as a place for a meter: on top of what stands there, or at a face's height.
 * @param {object} plan @param {[number, number]} spot
 */
export function placeForMeter(plan, spot) {
  const [x_m, y_m] = spot.map(tidy);
  const person = plan.subjects.find((one) => isInside(spot, one.shoulders));
  if (person) {
    const way = wayOf(person.gaze_deg);
    const [faceX, faceY] = person.face.map((one, k) => tidy(one + BEFORE_FACE_M * way[k]));
    return { x_m: faceX, y_m: faceY, z_m: person.face_z_m, surface: `${person.name}'s face` };
  }
  const under = plan.bodies
    .filter((one) => one.section === "props" && one.high_m < 1.4 && isInside(spot, one.outline))
    .sort((a, b) => b.high_m - a.high_m)[0];
  if (under) return { x_m, y_m, z_m: tidy(under.high_m), normal: [0, 0, 1], surface: under.name };
  const face = plan.subjects[0]?.face_z_m ?? 1.5;
  return { x_m, y_m, z_m: tidy(face), surface: "the plan, at the height of a face" };
}
