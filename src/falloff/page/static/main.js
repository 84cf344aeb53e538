// The page: builds the app and mounts every piece in its place.

import { App } from "./app.js";
import { mount as mountAnswer } from "./answer.js";
import { mount as mountDay } from "./day.js"; // with its graph
import { el } from "./dom.js";
import { mount as mountExposure } from "./exposure.js";
import { watchKeys } from "./keys.js";
import { mount as mountPicture } from "./picture.js"; // with compare, fullsize, stops-map, waveform
import { mount as mountPlan } from "./plan.js"; // with section
import { mount as mountReadings, takeReading } from "./readings.js";
import { mount as mountSetups } from "./setups.js";
import { mount as mountSources } from "./sources.js";
import { mount as mountStart } from "./start.js";
import { mount as mountTop } from "./top.js";
import { mount as mountTrouble } from "./trouble.js";
import { mount as mountWanted } from "./wanted.js"; // with targets and all that is asked about them

const page = /** @type {HTMLElement} */ (document.getElementById("page"));

async function begin() {
  const offers = await (await fetch("/start")).json();
  if (!offers.open) {
    page.replaceChildren();
    mountStart(page, offers, () => location.reload());
    return;
  }
  const app = new App();
  /** @type {any} */ (window).falloff = app; // for whoever tests or looks into it
  const stop = app.store.watch((tree) => tree !== null, (there) => {
    if (there) queueMicrotask(() => { stop?.(); build(app); });
  });
  app.start();
}

/** @param {App} app */
function build(app) {
  const place = (/** @type {string} */ name, /** @type {string} */ tag = "section") => el(tag, { class: `place in-${name}` });
  const top = place("top", "header");
  const answer = place("answer");
  const trouble = place("trouble");
  const picture = place("picture");
  const plan = place("plan");
  const exposure = place("exposure");
  const sources = place("sources");
  const wanted = place("wanted");
  const readings = place("readings");
  const day = place("day");
  const setups = place("setups", "footer");
  const seen = el("div", { class: "seen" }, picture);
  const drawn = el("div", { class: "drawn", hidden: true }, plan);
  const lists = el("div", { class: "lists" }, sources, wanted, readings);
  const work = el("div", { class: "work" }, seen, drawn, lists);
  /** @type {any} */ (app).takeReading = (/** @type {any} */ point) => takeReading(app, point);
  page.classList.add("desk");
  page.replaceChildren(top, answer, trouble, exposure, work, day, setups);
  mountTop(top, app);
  mountAnswer(answer, app);
  mountTrouble(trouble, app);
  mountPicture(picture, app);
  mountExposure(exposure, app);
  mountSources(sources, app);
  mountWanted(wanted, app);
  mountReadings(readings, app);
  mountDay(day, app);
  mountSetups(setups, app);
  foldPlan(app, work, drawn, plan);
  watchKeys(app);
  app.look.watch((/** @type {any} */ look) => look.theme, (/** @type {string} */ theme) => {
    document.documentElement.dataset.theme = theme;
  });
  app.store.watch((tree) => tree.title, (/** @type {string} */ title) => {
    document.title = `${title} – Falloff`;
  });
}

/**
 * The plan is built when it is folded out and taken down when it is folded.
 * @param {App} app @param {HTMLElement} work @param {HTMLElement} drawn @param {HTMLElement} plan
 */
function foldPlan(app, work, drawn, plan) {
  /** @type {null | (() => void)} */
  let close = null;
  app.look.watch((/** @type {any} */ look) => look.plan, (/** @type {boolean} */ open) => {
    work.classList.toggle("with-plan", open);
    drawn.hidden = !open;
    if (open && !close) close = mountPlan(plan, app);
    if (!open && close) {
      close();
      close = null;
    }
  });
}

begin();
