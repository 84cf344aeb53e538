// A question to the light: asked, under way with a way to drop it, answered, and of which state.

import { el, say } from "./dom.js";
import { perCent } from "./format.js";

/** One kind of question, with the place of its answer. */
export class Question {
  /**
   * @param {any} app @param {string} what is asked, as the server calls it
   * @param {{words: string, render: (answer: any, question: Question) => any[]}} how what is said
   *   while it is under way, and what becomes of an answer
   */
  constructor(app, what, { words, render }) {
    this.app = app;
    this.what = what;
    this.render = render;
    this.words = words;
    /** @type {any} */
    this.job = null;
    /** @type {any} */
    this.answer = null;
    this.way = el("span", {});
    this.drop = el("button", { type: "button", on: { click: () => this.job?.cancel() } }, "Drop");
    this.under = el("div", { class: "question-under", hidden: true }, this.way, this.drop);
    this.why = el("p", { class: "why", role: "alert" });
    this.stale = el("p", { class: "question-stale", hidden: true }, "Something was changed since: this is the answer to how it was.");
    this.body = el("div", { class: "question-body" });
    this.spoken = el("p", { class: "apart", aria: { live: "polite" } });
    this.node = el("div", { class: "question", hidden: true }, this.under, this.why, this.stale, this.body, this.spoken);
    /** The step of this answer that is tried, and how the scene is with it. @type {{step: any, state: string} | null} */
    this.tried = null;
    /** @type {(() => void)[]} what follows the answer that is shown */
    this.followed = [];
    const stops = [
      app.store.watch((/** @type {any} */ tree) => tree, () => this.age()),
      app.look.watch((/** @type {any} */ look) => look.trying, () => this.age()),
    ];
    this.stop = () => stops.forEach((stop) => stop());
  }

  /** Asks it; an older one that is still under way is dropped. @param {any} asked @param {string} [setup] */
  ask(asked, setup = this.app.look.state.setup) {
    const { app } = this;
    this.put(null);
    this.node.hidden = this.under.hidden = false;
    say(this.way, `${this.words} …`);
    const job = app.job(this.what, { setup, asked }, (/** @type {number} */ share, /** @type {any} */ known) => {
      if (this.job !== job) return;
      if (known) this.put(known, "", true);
      say(this.way, share > 0 && share < 1 ? `${this.words} … ${perCent(share)}` : `${this.words} …`);
    });
    this.job = job;
    this.asked = stateOf(app.tree);
    job.done.then(
      (/** @type {any} */ { answer }) => this.job === job && this.put(answer),
      (/** @type {Error} */ { message }) => this.job === job && this.put(null, message === "cancelled" ? "" : message),
    );
  }

  /**
   * Puts an answer, nothing, or why there is none.
   * @param {any} answer @param {string} [why] @param {boolean} [more] whether more of it is to come
   */
  put(answer, why = "", more = false) {
    if (!more) this.job = null;
    this.under.hidden = !more;
    if (this.app.trial?.question === this) this.app.leaveTrial();
    this.followed.splice(0).forEach((stop) => stop());
    this.answer = answer;
    say(this.why, why);
    this.body.replaceChildren(...(answer ? this.render(answer, this) : []));
    say(this.spoken, answer?.says?.join(" ") ?? "");
    this.node.hidden = !answer && !why;
    if (answer) this.bring();
    this.age();
  }

  /** Into sight, its beginning first. */
  bring() {
    const within = this.node.closest(".wanted-body")?.clientHeight ?? innerHeight;
    this.node.scrollIntoView({ block: this.node.offsetHeight > within / 2 ? "start" : "nearest" });
  }

  /** Until there is another answer. @param {() => void} stop */
  follow(stop) {
    this.followed.push(stop);
  }

  /** Whether it was asked of what is no more. */
  age() {
    if (!this.answer) return;
    const { trying, tree } = this.app;
    const state = stateOf(tree);
    if (trying.now === null || trying.from !== this) this.tried = null;
    else if (this.tried?.step !== trying.now.step) this.tried = { step: trying.now.step, state };
    // While a step of its own is tried it is still the answer, but not to anything else that is changed.
    this.stale.hidden = state === this.asked || state === this.tried?.state;
  }

  close() {
    this.followed.forEach((stop) => stop());
    this.stop();
    this.job?.cancel();
  }
}

/** All that an answer hangs on, as a text. @param {any} tree */
function stateOf({ setups, sources, targets, readings, plans, day }) {
  return JSON.stringify([setups, sources, targets, readings, plans, day]);
}

/** The sentences of an answer, the first one large. @param {string[]} says */
export function sentences(says) {
  return says.map((text, k) => el("p", { class: k === 0 ? "says-first" : "says" }, text));
}

/**
 * The buttons under an answer, or a part of one: what is light alone is looked at and taken, what
 * has to be traced is tried as a step.
 * @param {any} app @param {any} answer with `changes` and, where it can be looked at at once, `look`
 * @param {Question} question @param {string} label of what is looked at
 * @param {{away?: boolean}} [how] whether the answer can be put away here
 */
export function lookButtons(app, answer, question, label, { away = true } = {}) {
  const buttons = away ? [el("button", { type: "button", on: { click: () => question.put(null) } }, "Put away")] : [];
  if (answer.changes?.length) buttons.push(...(Object.keys(answer.look ?? {}).length > 0 ? atOnce(app, answer, question, label) : [asStep(app, answer, question)]));
  return buttons.length > 0 ? el("div", { class: "box-end" }, ...buttons) : null;
}

/** Looked at in the picture without a change; taken as one step. */
function atOnce(app, answer, question, label) {
  const act = () => {
    if (!app.edit(answer.changes)) return;
    question.put(null);
    app.say(`Taken: ${label}. Undo puts it back.`);
  };
  const look = el("button", { type: "button", class: "toggle", title: "See it in the picture; nothing is changed yet", aria: { pressed: "false" } }, "Look");
  look.addEventListener("click", () => {
    if (app.trial?.answer === answer) app.leaveTrial();
    else app.tryOut({ setups: answer.look, label, question, answer, take: act });
  });
  question.follow(app.trials.watch((/** @type {any} */ trial) => trial, (/** @type {any} */ trial) => {
    look.setAttribute("aria-pressed", String(trial?.answer === answer));
  }));
  return [look, el("button", { type: "button", class: "main", on: { click: act } }, "Take")];
}

/** Made as a step that is traced, and kept or put back. */
function asStep(app, answer, question) {
  return el("button", {
    type: "button", title: "Make it so and trace it; the line over the picture puts it back", on: { click: () => app.trying.begin(answer.changes, question) },
  }, "Try");
}
