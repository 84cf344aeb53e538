// What a pocket copy gives back, as lines of the box of readings; and words for what was on.

const MOST_OFFERED = 12;

/**
 * The readings of a pocket copy's text: its JSON, or lines such as "key cheek: 320 lx; BOOK on" under
 * lines "# WIDE SHOT". Throws an Error that says what is wrong.
 * @param {string} text @param {any} tree
 * @returns {{rows: {setup: string, reading: string, value: string, on: string}[], about: string}}
 */
export function metered(text, tree) {
  const rows = text.trim().startsWith("{") ? fromJson(text, tree) : fromLines(text, tree);
  const there = rows.filter((row) => tree.readings[row.reading] && tree.setups[row.setup]);
  if (there.length === 0) throw new Error("None of its readings is in this scene: it is of another one, or its readings have other names.");
  const left = rows.filter((row) => !there.includes(row)).map((row) => row.reading || row.setup);
  return { rows: there, about: left.length > 0 ? `Left out, as this scene does not have them: ${[...new Set(left)].join(", ")}.` : "" };
}

/** @param {string} text @param {any} tree */
function fromJson(text, tree) {
  let found;
  try {
    found = JSON.parse(text);
  } catch {
    throw new Error("This text is not whole: copy all of it, from the first { to the last }.");
  }
  if (found.falloff_metered !== 1 || !Array.isArray(found.readings)) throw new Error("This is no text of a pocket copy: save it there again.");
  return found.readings.map((/** @type {any} */ one) => ({
    setup: one.setup,
    reading: one.name,
    value: `${one.value} ${one.unit.replace("²", "2")}`,
    on: [wasOn(one, tree), one.hour ? `at ${one.hour.slice(0, 16).replace("T", " ")}` : ""].filter(Boolean).join("; "),
  }));
}

/** What was on, where it was not all of the setup, daylight too, at its own dims. @param {any} one @param {any} tree */
function wasOn({ setup, lit, dims }, tree) {
  const { dims: planned = {}, without = [] } = tree.setups[setup] ?? {};
  const there = tree.source_order.filter((/** @type {string} */ name) => !without.includes(name));
  const knob = (/** @type {string} */ name) => planned[name]?.knob ?? (tree.sources[name]?.dims === false ? 1 : 0);
  const moved = (/** @type {string} */ name) => name in dims && Math.abs(dims[name] - knob(name)) >= 0.005;
  if (!Object.keys(dims).some(moved) && there.every((/** @type {string} */ name) => knob(name) === 0 || lit.includes(name))) return "";
  const named = lit.map((/** @type {string} */ name) => (moved(name) ? `${name} at ${Number((100 * dims[name]).toFixed(1))} %` : name));
  return named.length > 0 ? `${named.join(", ")} alone` : `all but ${there.join(", ")}`;
}

/** @param {string} text @param {any} tree */
function fromLines(text, tree) {
  let setup = tree.setup_order[0];
  const rows = [];
  for (const line of text.split("\n").map((one) => one.trim()).filter(Boolean)) {
    if (line.startsWith("#")) {
      setup = line.slice(1).trim();
      continue;
    }
    const name = [...tree.reading_order].sort((a, b) => b.length - a.length).find((one) => line.startsWith(`${one}:`)) ?? line.split(":")[0];
    const [value, ...on] = line.slice(name.length + 1).split(";").map((one) => one.trim());
    rows.push({ setup, reading: name, value, on: on.join("; ") });
  }
  return rows;
}

/** What one says of what was on, offered while typing. @param {any} tree @param {string} setup */
export function onWords(tree, setup) {
  const lights = Object.keys(tree.setups[setup]?.dims ?? {});
  const outside = tree.source_order.some((/** @type {string} */ name) => !tree.sources[name].dims);
  return [
    ...(outside ? ["daylight"] : []),
    ...lights.flatMap((name) => [`${name} on`, `${name} alone`]),
    ...lights.map((name) => `all but ${name}`),
  ].slice(0, MOST_OFFERED);
}
