// The page put together: answer and picture above, what the thumb reaches below.
import { answersOf, fitting } from "./answer.js";
import { cameraPanel } from "./camera.js";
import { dayPanel, hasDay, hoursRow } from "./day.js";
import { button, element, say } from "./elements.js";
import { otherHour } from "./hours.js";
import { readingsOf } from "./light.js";
import { lightsPanel } from "./lights.js";
import { meteredPanel } from "./metered.js";
import { Picture } from "./picture.js";
import { readingsPanel } from "./readings.js";
import { State } from "./state.js";
import { unitsPanel } from "./units.js";

const ANSWER_LINES = 2;

function start() {
  const scene = JSON.parse(document.getElementById("scene").textContent);
  const state = new State(scene);
  const top = topOf(state);
  const bar = changesBar(state);
  const panels = {
    Lights: lightsPanel(state),
    Camera: cameraPanel(state),
    Readings: readingsPanel(state),
    Metered: meteredPanel(state),
    Units: unitsPanel(state),
    ...(hasDay(scene) ? { Day: dayPanel(state) } : {}),
  };
  const hours = hasDay(scene) ? hoursRow(state, measured) : null;
  const tabs = tabsOf(panels);
  const update = () => {
    const values = readingsOf(state.setup, state.now, scene.luminance);
    top.update();
    bar.update();
    hours?.update();
    for (const panel of Object.values(panels)) panel.update(values);
  };
  document.getElementById("copy").append(
    top.root,
    element(
      "div",
      { class: hours ? "below with-day" : "below" },
      hours?.root ?? null,
      bar.root,
      ...tabs.bodies,
      tabs.root,
    ),
  );
  state.watch(update);
  window.addEventListener("resize", () => {
    top.update();
    hours?.update();
  });
  window.addEventListener("pagehide", () => state.keep());
  update();
}

const PEN = document.createElement("canvas").getContext("2d");

/** What measures texts, in pixels, as an element would write them. */
function measured(target) {
  const style = getComputedStyle(target);
  const font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  return (text) => {
    PEN.font = font;
    return PEN.measureText(text).width;
  };
}

function topOf(state) {
  const { scene } = state;
  const canvas = element("canvas", { role: "img" });
  const badge = element("span", { class: "badge", hidden: true }, "as planned");
  const answer = element("p", { class: "answer", "aria-live": "polite" });
  const picture = new Picture(canvas);
  const chooser = setupChooser(state);
  return {
    root: element(
      "header",
      { class: "top" },
      element("div", { class: "title" }, element("h1", {}, scene.title), chooser.root),
      element("div", { class: "frame" }, canvas, badge),
      answer,
    ),
    update() {
      const { setup, shown } = state;
      canvas.style.setProperty("aspect-ratio", `${setup.width} / ${setup.height}`);
      picture.draw(setup, shown);
      const hour = otherHour(setup, shown);
      canvas.setAttribute("aria-label", `Picture of ${setup.name}${hour ? ` at ${hour.clock}` : ""}`);
      badge.hidden = !state.peek;
      chooser.update();
      const values = readingsOf(setup, shown, scene.luminance);
      const style = getComputedStyle(answer);
      const room = answer.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
      say(answer, fitting(answersOf(setup, values), room, ANSWER_LINES, measured(answer)));
    },
  };
}

function setupChooser(state) {
  const { setups } = state.scene;
  if (setups.length === 1) {
    return { root: element("span", { class: "only" }, setups[0].name), update() {} };
  }
  const list = element(
    "select",
    { "aria-label": "Setup", onchange: () => state.choose(list.selectedIndex) },
    ...setups.map(({ name }) => element("option", {}, name)),
  );
  return {
    root: list,
    update() {
      list.selectedIndex = state.at;
    },
  };
}

/** How much differs from the plan, a look back at it, and the way back. */
function changesBar(state) {
  const count = element("span", { class: "told-count" });
  const look = button("", () => state.look(!state.peek), { class: "plain" });
  const back = button("Back to the plan", () => state.back(), { class: "plain" });
  return {
    root: element("div", { class: "changes" }, count, look, back),
    update() {
      const changes = state.changes();
      say(count, changes === 0 ? "As planned" : changes === 1 ? "1 change" : `${changes} changes`);
      say(look, state.peek ? "See now" : "See plan");
      look.setAttribute("aria-pressed", String(state.peek));
      look.disabled = changes === 0;
      back.disabled = changes === 0;
    },
  };
}

/** One panel at a time, chosen at the lower edge. */
function tabsOf(panels) {
  const names = Object.keys(panels);
  const bodies = names.map((name, n) =>
    element(
      "section",
      {
        class: "panel",
        role: "tabpanel",
        id: `panel-${n}`,
        "aria-labelledby": `tab-${n}`,
        hidden: n > 0,
      },
      panels[name].root,
    ));
  const show = (chosen) => {
    tabs.forEach((tab, n) => {
      tab.setAttribute("aria-selected", String(n === chosen));
      tab.tabIndex = n === chosen ? 0 : -1;
      bodies[n].hidden = n !== chosen;
    });
  };
  const step = (event, n) => {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!by) return;
    const next = (n + by + names.length) % names.length;
    show(next);
    tabs[next].focus();
  };
  const tabs = names.map((name, n) =>
    button(name, () => show(n), {
      role: "tab",
      id: `tab-${n}`,
      "aria-controls": `panel-${n}`,
      onkeydown: (event) => step(event, n),
    }));
  show(0);
  return { root: element("div", { class: "tabs", role: "tablist", "aria-label": "What to see" }, ...tabs), bodies };
}

start();
