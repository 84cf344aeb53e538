// The sheet of facts of what is chosen: where it is, what it looks at, its sizes, in native fields.

import { length } from "./format.js";
import { clockText, clockWay, halfTurn, parseClock, parseLength, tidy } from "./plan-geometry.js";
import { canRise, canTurn, facingOf, hasAim, heightOf, subjectOf } from "./plan-items.js";

const NOTHING = "nothing";
const HINTS = [
  "Nothing is chosen. Click a thing or go to it with Tab, then drag it. Shift: no snapping. Escape: " +
    "back where it was. Double click on the floor: add something.",
  "Keys: arrows move, [ ] turn, Page Up and Page Down raise, A aims, D doubles, Delete, N adds, " +
    "R meters, M measures.",
];

/**
 * The sheet's element and how it is filled anew.
 * @param {object} desk
 * @returns {{element: HTMLElement, show: () => void, openAim: () => void, focus: () => void}}
 */
export function factSheet(desk) {
  const element = document.createElement("form");
  element.className = "plan-facts";
  element.setAttribute("aria-label", "facts of what is chosen");
  element.addEventListener("submit", (event) => event.preventDefault());
  let shown = "";
  let fields = [];

  function show() {
    const item = desk.item(desk.chosen);
    if (!item) {
      if (shown !== NOTHING) element.replaceChildren(...HINTS.map((words) => tag("p", { className: "plan-facts-hint" }, words)));
      shown = NOTHING;
      return;
    }
    const built = builtFor(item);
    if (built.shape !== shown) {
      shown = built.shape;
      fields = built.fields;
      element.replaceChildren(...built.elements);
    }
    for (const field of fields) field.fill(desk.item(desk.chosen));
  }

  /** Elements for a thing; shape: what has to be built anew when it changes. */
  function builtFor(item) {
    const list = [];
    const rows = [];
    const subject = subjectOf(desk.plan(), item);
    const told = ["unit", "body"].includes(item.kind) && subject;
    if (item.kind === "opening" && item.it.wall !== null) rows.push(openingRow(list, item));
    else if (item.kind !== "wall") rows.push(told ? clockRow(list) : spotRow(list, item));
    if (hasAim(item) || canTurn(item)) rows.push(turnRow(list, item));
    const sizes = item.it.sizes ?? [];
    if (sizes.length) rows.push(sizeRow(list, sizes));
    const shape = JSON.stringify([
      item.key, item.kind, desk.units(), Boolean(told), subject?.name, sizes.map((one) => one.says), targets(item),
    ]);
    const grid = tag("div", { className: "plan-facts-grid" }, ...rows.flat().filter(Boolean));
    return { shape, fields: list, elements: [head(item, list), grid] };
  }

  // Rows ----------------------------------------------------------------------------------

  function head(item, list) {
    const title = tag("p", { className: "plan-facts-head" });
    const name = tag("strong", {}, item.key);
    const says = tag("span", {});
    const close = tag("button", { type: "button", className: "plan-facts-close" }, "×");
    close.setAttribute("aria-label", "let go of it");
    close.addEventListener("click", () => desk.choose(null));
    title.append(name, says, ...buttons(item), close);
    list.push({
      fill(now) {
        const own = desk.isMoved(now.name) ? " · stands here in this setup alone" : "";
        says.textContent = `${wordsOf(now)}${own}`;
        says.title = says.textContent;
      },
    });
    return title;
  }

  function wordsOf({ kind, it }) {
    const units = desk.units();
    if (kind === "wall") return length(Math.hypot(it.b[0] - it.a[0], it.b[1] - it.a[1]), units);
    if (kind === "unit") return `${it.number} · ${it.says}`;
    if (kind === "reading") return `${it.instrument} reading`;
    return it.says ?? "";
  }

  function clockRow(list) {
    const subjectNow = () => subjectOf(desk.plan(), desk.item(desk.chosen));
    const place = (far, hour) => {
      const item = desk.item(desk.chosen);
      const subject = subjectNow();
      const way = clockWay(subject.facing_deg, hour);
      const [x_m, y_m] = subject.mark.map((one, k) => tidy(one + far * way[k]));
      return [{ do: "place", name: item.name, x_m, y_m }];
    };
    const told = (item) => item.it.distance;
    return row(
      lengthField(list, "Distance", (item) => told(item).distance_m,
        (item, value) => place(value, told(item).clock_hour), () => `from ${subjectNow().name}`),
      textField(list, "Clock", (item) => clockText(told(item).clock_hour), parseClock,
        (item, hour) => place(told(item).distance_m, hour),
        () => "hour round the subject: 6 is ahead of the face"),
      heightField(list),
    );
  }

  function spotRow(list, item) {
    const place = (k) => (now, value) => {
      const at = k ? [now.at[0], value] : [value, now.at[1]];
      return [{ do: now.kind === "opening" ? "opening" : "place", name: now.name, x_m: tidy(at[0]), y_m: tidy(at[1]) }];
    };
    return row(
      lengthField(list, "Across", (now) => now.at[0], place(0), () => "from the plan's left edge, x"),
      lengthField(list, "Up plan", (now) => now.at[1], place(1), () => "from the plan's lower edge, y"),
      canRise(item) ? heightField(list) : null,
    );
  }

  function openingRow(list, item) {
    const change = (key) => (item, value) => [{ do: "opening", name: item.name, [key]: tidy(value) }];
    return row(
      lengthField(list, "Along wall", (item) => item.it.along_m, change("along_m"),
        () => "from the wall's first corner"),
      lengthField(list, "Width", (item) => item.it.width_m, change("width_m")),
      lengthField(list, "Sill", (item) => item.it.sill_m, change("sill_m"), () => "above the floor"),
      lengthField(list, "Height", (item) => item.it.top_m - item.it.sill_m, change("height_m")),
      item.kind === "opening" && item.it.kind === "window" ? dressingField() : null,
    );
  }

  function heightField(list) {
    return lengthField(list, "Above floor", heightOf, (item, value) => desk.heightChange(item, value),
      () => "height above the floor");
  }

  function turnRow(list, item) {
    const parts = [];
    if (hasAim(item)) parts.push(aimField(list));
    if (facingOf(item) !== null) {
      const told = (now) => `${Math.round(facingOf(now) ?? 0)}°`.replace("-", "−");
      parts.push(textField(list, "Faces", told, readDegrees,
        (now, deg) => [{ do: "turn", name: now.name, by_deg: tidy(halfTurn(deg - (facingOf(now) ?? 0))) }],
        () => "degrees on the plan, counter-clockwise from the right"));
    }
    return row(...parts);
  }

  function sizeRow(list, sizes) {
    return row(...sizes.map((one, k) => lengthField(list, one.says[0].toUpperCase() + one.says.slice(1),
      (item) => item.it.sizes[k].size_m,
      (item, value) => [{ do: "put", path: item.it.sizes[k].path, length_m: tidy(value) }])));
  }

  function buttons(item) {
    if (item.kind === "wall") return [];
    const twice = tag("button", { type: "button" }, "Duplicate");
    twice.addEventListener("click", () => desk.duplicate(desk.item(desk.chosen)));
    const gone = tag("button", { type: "button", className: "is-warn" }, "Delete");
    gone.addEventListener("click", () => desk.remove(desk.item(desk.chosen)));
    return item.kind === "opening" ? [gone] : [twice, gone];
  }

  // Fields --------------------------------------------------------------------------------

  function lengthField(list, label, read, change, hint) {
    const units = desk.units();
    const told = (item) => length(read(item), units);
    return textField(list, label, told, (text) => parseLength(text, units), change, hint);
  }

  /** A field that is read when it is left or Enter is pressed, and put right where it cannot be. */
  function textField(list, label, read, parse, change, hint) {
    const input = tag("input", { type: "text", inputMode: "text", autocomplete: "off", spellcheck: false });
    const made = tag("label", {}, tag("span", {}, label), input);
    let before = "";
    list.push({
      fill(item) {
        before = read(item);
        if (document.activeElement !== input) input.value = before;
        if (hint) input.title = hint();
      },
    });
    const take = () => {
      if (input.value === before) return;
      const value = parse(input.value);
      const item = desk.item(desk.chosen);
      if (value === null || !item) {
        desk.app.say(`${label}: "${input.value}" cannot be read; it stays at ${before}`, "refused");
        input.value = before;
        return;
      }
      desk.app.edit(change(item, value));
    };
    input.addEventListener("change", take);
    input.addEventListener("keydown", (event) => {
      if (event.key === "Escape") input.value = before;
      if (event.key === "Enter" || event.key === "Escape") {
        input.blur();
        desk.focusChosen();
      }
      event.stopPropagation();
    });
    return made;
  }

  function aimField(list) {
    const select = tag("select", { className: "plan-aim" });
    select.setAttribute("aria-label", "aim at");
    list.push({
      fill(item) {
        if (document.activeElement === select) return;
        const names = targets(item);
        const now = item.it.aims_at ?? "";
        const own = names.includes(now) ? [] : [option(now, now || "a point")];
        select.replaceChildren(...own, ...names.map((one) => option(one, one)));
        select.value = now;
      },
    });
    select.addEventListener("change", () => {
      const item = desk.item(desk.chosen);
      if (!item || !select.value) return;
      desk.app.edit([{ do: "aim", name: item.name, at: select.value }]);
    });
    select.addEventListener("keydown", (event) => event.stopPropagation());
    return tag("label", { className: "is-wide" }, tag("span", {}, "Aim at"), select);
  }

  /** What hangs before the glass; what hangs there now is told in the thing's own words above. */
  function dressingField() {
    const kinds = ["bare", "sheer", "blind", "ND 0.3", "ND 0.6", "ND 0.9", "blackout"];
    const select = tag("select", { className: "plan-aim" }, option("", "as it is"), ...kinds.map((one) => option(one, one)));
    select.addEventListener("change", () => {
      const item = desk.item(desk.chosen);
      if (item && select.value) desk.app.edit([{ do: "dressing", name: item.name, what: select.value }]);
      select.value = "";
    });
    select.addEventListener("keydown", (event) => event.stopPropagation());
    return tag("label", { className: "is-wide" }, tag("span", {}, "Dress with"), select);
  }

  function targets(item) {
    const plan = desk.plan();
    return [
      ...plan.subjects.flatMap((one) => [`${one.name}.face`, `${one.name}.chest`]),
      ...plan.bodies.filter((one) => one.name !== item.name).map((one) => one.name),
      ...plan.openings.map((one) => one.name),
    ];
  }

  return {
    element,
    show,
    openAim() {
      const select = element.querySelector(".plan-aim");
      select?.focus();
      try {
        select?.showPicker?.();
      } catch {
        // Some browsers open it only for a hand: it has the focus, arrows choose.
      }
    },
    focus: () => element.querySelector("input, select")?.focus(),
  };
}

/** Fields that stand together. */
function row(...parts) {
  return parts;
}

function readDegrees(text) {
  const found = /^\s*([-+−]?\d+(?:\.\d+)?)\s*(?:°|deg)?\s*$/.exec(text);
  return found ? Number(found[1].replace("−", "-")) : null;
}

function option(value, words) {
  return tag("option", { value }, words);
}

function tag(name, parts, ...children) {
  const element = Object.assign(document.createElement(name), parts);
  element.append(...children);
  return element;
}
