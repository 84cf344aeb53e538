// The box in which meter readings from the day are typed or read in, and set against the plan.

import { correctAnswer } from "./correct-answer.js";
import { el, say } from "./dom.js";
import { metered, onWords } from "./pocket-text.js";
import { Question } from "./question.js";

const ROWS = 3;

/** Opens the box. @param {any} app */
export function openCorrectBox(app) {
  const { tree } = app;
  const several = tree.setup_order.length > 1;
  const setup = el("select", {}, ...tree.setup_order.map((/** @type {string} */ name) => el("option", { value: name }, name)));
  setup.value = app.look.state.setup;
  const offered = el("datalist", { id: "correct-on" });
  const body = el("tbody", {});
  /** @type {any[]} */
  let rows = [];
  /** Doubted readings that are believed all the same. @type {Set<string>} */
  const believed = new Set();
  const why = el("p", { class: "why", role: "alert" });
  const record = el("input", { type: "checkbox" });
  const question = new Question(app, "correct", { words: "Setting the readings against the plan", render: (answer, self) => {
    record.disabled = false;
    return correctAnswer(app, answer, self, { doubt, take: () => box.close() });
  } });

  const fill = () => offered.replaceChildren(...onWords(tree, setup.value).map((text) => el("option", { value: text })));
  /** @param {any} [what] */
  const add = (what = {}) => {
    const row = readingRow(app, what, { next: (/** @type {any} */ one) => next(one), drop: (/** @type {any} */ one) => drop(one) });
    rows.push(row);
    body.append(row.node);
    return row;
  };
  const next = (/** @type {any} */ row) => {
    if (row.isEmpty()) {
      compare();
      return;
    }
    const after = rows[rows.indexOf(row) + 1] ?? add();
    after.focus();
  };
  const drop = (/** @type {any} */ row) => {
    rows = rows.filter((one) => one !== row);
    row.node.remove();
    if (rows.length === 0) add();
    rows[0].focus();
  };
  function compare() {
    const reads = rows.filter((row) => !row.isEmpty()).map((row) => [row.setup() || setup.value, row.text()]);
    say(why, "");
    if (reads.length === 0 && Object.keys(tree.measured).length === 0) {
      say(why, "Type what the meter said: a reading, its value, and what was on if not everything was.");
      rows[0].focus();
      return;
    }
    question.ask({ reads, believe: [...believed], record: record.checked }, setup.value);
  }
  /** A reading that is doubted: left out, put right or believed. @param {string} name @param {string} act @param {string} [value] */
  function doubt(name, act, value = "") {
    const typed = rows.filter((row) => !row.isEmpty());
    const row = typed[question.answer.typed.indexOf(name)];
    if (act === "believe") believed.add(name);
    if (act === "out" && row) drop(row);
    if (act === "value" && row) row.put(value);
    compare();
  }
  /** Rows from a pocket copy's text. @param {string} text */
  function readPocket(text) {
    let found;
    try {
      found = metered(text, tree);
    } catch (error) {
      say(why, /** @type {Error} */ (error).message);
      return;
    }
    say(why, found.about);
    rows.filter((row) => row.isEmpty()).forEach((row) => row.node.remove());
    rows = rows.filter((row) => !row.isEmpty());
    found.rows.forEach(add);
    rows.at(-1)?.focus();
  }

  const file = el("input", { type: "file", accept: ".json,.txt,text/plain,application/json", class: "apart", aria: { label: "File of the pocket copy" } });
  file.addEventListener("change", async () => {
    if (file.files?.[0]) readPocket(await file.files[0].text());
    file.value = "";
  });
  const paste = el("textarea", { rows: 2, placeholder: "or paste its text here", aria: { label: "Text of the pocket copy" } });
  paste.addEventListener("input", () => {
    if (!paste.value.trim()) return;
    readPocket(paste.value);
    paste.value = "";
  });
  const box = el("dialog", { class: "box wide correct-box", aria: { label: "What the meter said" } },
    el("form", { method: "dialog", on: { submit: (/** @type {Event} */ event) => { event.preventDefault(); compare(); } } },
      el("h2", {}, "What the meter said"),
      el("p", { class: "quiet" }, "One line for each reading. Enter goes on to the next line, and on an empty line sets them against the plan."),
      several ? el("label", { class: "form-line" }, el("span", {}, "Read in"), setup) : null,
      el("table", { class: "correct-rows" },
        el("thead", {}, el("tr", {}, ...["Reading", "Meter", "What was on", ""].map((words) => el("th", { scope: "col" }, words || el("span", { class: "apart" }, "Take out"))))),
        body),
      offered,
      el("div", { class: "form-line" },
        el("button", { type: "button", on: { click: () => file.click() } }, "Read from the pocket copy"), file, paste),
      why,
      el("div", { class: "box-end" },
        el("label", { class: "match-hold leftmost" }, record, "write the readings into the scene file too"),
        el("button", { type: "button", on: { click: () => box.close() } }, "Close"),
        el("button", { type: "submit", class: "main" }, "Compare"))),
    question.node);
  setup.addEventListener("change", fill);
  box.addEventListener("close", () => {
    question.close();
    box.remove();
  });
  for (let k = 0; k < ROWS; k += 1) add();
  fill();
  document.body.append(box);
  box.showModal();
  rows[0].focus();
}

/** One reading: which, what the meter said, what was on. */
function readingRow(app, { setup = "", reading = "", value = "", on = "" }, { next, drop }) {
  const { tree } = app;
  const which = el("select", { aria: { label: "Reading" } }, el("option", { value: "" }, "–"),
    ...tree.reading_order.map((/** @type {string} */ name) => el("option", { value: name }, name)));
  which.value = reading;
  const said = el("input", { type: "text", inputMode: "decimal", autocomplete: "off", value, aria: { label: "What the meter said" } });
  const lit = el("input", { type: "text", autocomplete: "off", value: on, placeholder: "as in the setup", aria: { label: "What was on" } });
  lit.setAttribute("list", "correct-on");
  const gone = el("button", { type: "button", class: "plain", aria: { label: "Take this line out" } }, "×");
  const node = el("tr", {}, el("td", {}, which, setup ? el("span", { class: "tag" }, setup) : null),
    el("td", {}, said), el("td", {}, lit), el("td", {}, gone));
  const tick = () => (said.placeholder = which.value ? `320 ${unitOf(tree, which.value)}` : "320 lx");
  which.addEventListener("change", tick);
  tick();
  const row = {
    node,
    setup: () => setup,
    isEmpty: () => !which.value && !said.value.trim(),
    /** As one types it: "key cheek: 320 lx; BOOK on". */
    text() {
      const plain = said.value.trim().replace("−", "-").replace(",", ".");
      const bare = /^\d+(?:\.\d+)?$/.test(plain);
      return `${which.value}: ${bare ? `${plain} ${unitOf(tree, which.value)}` : plain}${lit.value.trim() ? `; ${lit.value.trim()}` : ""}`;
    },
    put: (/** @type {string} */ text) => (said.value = text),
    focus: () => which.focus(),
  };
  node.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Enter" || event.target === gone) return;
    event.preventDefault();
    next(row);
  });
  gone.addEventListener("click", () => drop(row));
  return row;
}

/** What a bare number is taken to be in. @param {any} tree @param {string} reading */
function unitOf(tree, reading) {
  const spot = tree.readings[reading]?.instrument === "spot";
  if (tree.units === "imperial") return spot ? "fL" : "fc";
  return spot ? "cd/m2" : "lx";
}
