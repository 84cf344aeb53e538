// The box of a picture that one owns: its curve is stated, places are clicked for readings, and what
// it shows there becomes what is wanted.

import { el, keyed, say } from "./dom.js";
import { stopsAgainst } from "./format.js";
import { Question } from "./question.js";
import { findingsList } from "./wanted-balance.js";

const ASK_AFTER_MS = 150;
const STEP = 0.01;

/** Opens a picture's file and, where it can be read, its box. @param {any} app @param {File} file */
export async function openStill(app, file) {
  app.say(`${file.name} is being read …`);
  let told;
  try {
    const answer = await fetch("/still", { method: "POST", body: file });
    told = answer.headers.get("content-type")?.includes("json") ? await answer.json() : { why: "Falloff does not answer" };
  } catch {
    told = { why: "Falloff does not answer" };
  }
  app.say("");
  if (!told.key) {
    app.say(`${file.name} cannot be opened: ${told.why}.`, "refused");
    return;
  }
  stillBox(app, file.name, told.key);
}

/** @param {any} app @param {string} name @param {string} key of its bytes on the server */
function stillBox(app, name, key) {
  const readings = app.tree.reading_order;
  /** @type {Map<string, {x: number, y: number, alike: boolean}>} */
  const places = new Map();
  let chosen = readings[0] ?? "";
  /** @type {{curve: string | null, graded: boolean | null}} */
  const stated = { curve: null, graded: null };
  const cross = { x: 0.5, y: 0.5 };
  /** @type {any} */
  let told = null;

  const image = el("img", { alt: `The picture ${name}`, draggable: false });
  const marks = el("div", { class: "still-marks" });
  const hair = el("span", { class: "still-cross", hidden: true, aria: { hidden: "true" } });
  const frame = el("div", {
    class: "still-frame", tabIndex: 0, role: "application",
    aria: { label: "Places in the picture: arrows move the cross, Enter puts the chosen reading there" },
  }, image, marks, hair);
  const curve = el("select", {}, el("option", { value: "" }, "not stated"));
  const graded = el("input", { type: "checkbox" });
  const list = el("ul", { class: "still-list" });
  const targets = el("ul", { class: "answer-findings" });
  const notes = el("div", {});
  const make = el("button", { type: "button", class: "main", disabled: true }, "Make targets");
  const question = new Question(app, "still", { words: "Reading the picture", render: (answer) => {
    take(answer);
    return [];
  } });
  question.node.classList.add("still-question");
  const box = el("dialog", { class: "box still-box", aria: { label: `Still: ${name}` } },
    el("h2", {}, name),
    el("div", { class: "form-line" },
      el("label", { class: "form-line" }, el("span", {}, "Viewing curve"), curve),
      el("label", { class: "match-hold" }, graded, "a look was put on it")),
    el("div", { class: "still-work" }, frame,
      el("div", { class: "still-side" },
        el("p", { class: "quiet" }, readings.length > 0 ? "Choose a reading, then click where it lies in the picture." : "The scene has no reading yet: put some there first."),
        list)),
    question.node, targets, notes,
    el("div", { class: "box-end" }, el("button", { type: "button", on: { click: () => box.close() } }, "Close"), make));

  /** @type {number | undefined} */
  let timer;
  const ask = () => {
    clearTimeout(timer);
    timer = setTimeout(() => question.ask({
      key, name, curve: stated.curve, graded: stated.graded,
      places: Object.fromEntries([...places].map(([reading, { x, y }]) => [reading, [x, y]])),
      alike: [...places].filter(([, one]) => one.alike).map(([reading]) => reading),
    }), ASK_AFTER_MS);
  };
  const put = (/** @type {number} */ x, /** @type {number} */ y) => {
    if (!chosen) return;
    places.set(chosen, { x, y, alike: places.get(chosen)?.alike ?? false });
    const next = readings.find((/** @type {string} */ one) => !places.has(one));
    show();
    if (next) choose(next);
    ask();
  };
  const choose = (/** @type {string} */ reading) => {
    chosen = reading;
    show();
  };

  /** What the server read. @param {any} answer */
  function take(answer) {
    told = answer;
    if (image.dataset.key !== answer.shown) {
      image.dataset.key = answer.shown;
      image.src = `/blob/${answer.shown}`;
      image.style.setProperty("--ratio", String(answer.size[0] / answer.size[1]));
    }
    if (curve.options.length === 1) {
      curve.append(...answer.curves.map(([value, says]) => el("option", { value, title: says }, `${value}: ${says}`)));
    }
    graded.checked = answer.graded;
    make.disabled = answer.changes.length === 0;
    targets.replaceChildren(...answer.says.map((/** @type {string} */ text) => el("li", {}, `${text}.`)));
    notes.replaceChildren(...[findingsList(answer.findings)].filter(Boolean));
    show();
  }

  function show() {
    keyed(list, readings, (reading) => line(reading));
    readings.forEach((/** @type {string} */ reading, /** @type {number} */ k) => /** @type {any} */ (list.children[k]).show());
    const placed = [...places.keys()];
    keyed(marks, placed, () => el("span", { class: "still-mark" }));
    placed.forEach((reading, k) => {
      const { x, y } = /** @type {any} */ (places.get(reading));
      const mark = /** @type {HTMLElement} */ (marks.children[k]);
      mark.style.setProperty("--x", `${100 * x}%`);
      mark.style.setProperty("--y", `${100 * y}%`);
      say(mark, String(readings.indexOf(reading) + 1));
      mark.classList.toggle("chosen", reading === chosen);
    });
    hair.style.setProperty("--x", `${100 * cross.x}%`);
    hair.style.setProperty("--y", `${100 * cross.y}%`);
  }

  /** One reading: chosen, what is read there, whether its surface is of the scene's kind. @param {string} reading */
  function line(reading) {
    const input = el("input", { type: "radio", name: "still-reading", on: { change: () => choose(reading) } });
    const stops = el("span", { class: "still-stops" });
    const alike = el("input", { type: "checkbox" });
    const same = el("label", { class: "still-alike", title: "Its surface in the picture is of the same kind as in the scene" }, alike, "same surface");
    const gone = el("button", { type: "button", class: "plain", aria: { label: `Take ${reading} off the picture` }, on: { click: () => {
      places.delete(reading);
      choose(reading);
      ask();
    } } }, "×");
    alike.addEventListener("change", () => {
      const one = places.get(reading);
      if (one) one.alike = alike.checked;
      ask();
    });
    const node = el("li", {}, el("label", { class: "still-reading" }, input, el("span", {}, `${readings.indexOf(reading) + 1} ${reading}`)), stops, same, gone);
    node.show = () => {
      const there = places.has(reading);
      input.checked = reading === chosen;
      same.hidden = gone.hidden = !there;
      const point = there ? told?.points.find((/** @type {any} */ one) => one.name === reading) : null;
      say(stops, point ? `${LIMITS[point.limit]}${stopsAgainst(point.stops_over_grey, "middle grey")}, ± ${point.error_stops.toFixed(1)}` : there ? "…" : "");
      node.title = point?.notes.join("\n") ?? "";
    };
    return node;
  }

  frame.addEventListener("click", (/** @type {MouseEvent} */ event) => {
    const at = image.getBoundingClientRect();
    if (!at.width) return;
    put(within((event.clientX - at.left) / at.width), within((event.clientY - at.top) / at.height));
  });
  frame.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    const by = event.shiftKey ? STEP / 5 : STEP;
    const moves = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, -by], ArrowDown: [0, by] });
    if (event.key === "Enter") put(cross.x, cross.y);
    else if (moves[event.key]) {
      hair.hidden = false;
      cross.x = within(cross.x + moves[event.key][0]);
      cross.y = within(cross.y + moves[event.key][1]);
      show();
    } else return;
    event.preventDefault();
  });
  curve.addEventListener("change", () => {
    stated.curve = curve.value || null;
    stated.graded = null;
    ask();
  });
  graded.addEventListener("change", () => {
    stated.graded = graded.checked;
    ask();
  });
  make.addEventListener("click", () => {
    if (!told?.changes.length || !app.edit(told.changes)) return;
    const count = told.targets.filter((/** @type {any} */ one) => one.yaml).length;
    app.say(`${count} ${count === 1 ? "target" : "targets"} from ${name}. Undo takes them out.`);
    box.close();
    app.wanted?.open("targets");
  });
  box.addEventListener("close", () => {
    clearTimeout(timer);
    question.close();
    box.remove();
  });
  document.body.append(box);
  box.showModal();
  show();
  ask();
}

const LIMITS = /** @type {Record<string, string>} */ ({ equal: "", "at least": "at least ", "at most": "at most " });

/** @param {number} share */
function within(share) {
  return Math.min(1, Math.max(0, share));
}
