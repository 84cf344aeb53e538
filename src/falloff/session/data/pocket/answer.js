// The answer in one sentence: key, shadow side, and besides what the scene has a target for and
// what is strongest; in two lines.
import { levelAgainst, levelWords } from "./words.js";

const MOST_OTHERS = 3;

/** 1 where the scene says what a reading should come to. */
function wanted(setup, n) {
  return setup.readings[n].wanted ? 1 : 0;
}

/** Sentences from the longest to the shortest; the first that fits is shown. */
export function answersOf(setup, values) {
  if (values.length === 0) return ["This setup asks for no readings."];
  const key = setup.first;
  const name = (n) => setup.readings[n].name;
  const first = name(key).charAt(0).toUpperCase() + name(key).slice(1);
  const main = `${first} ${levelAgainst(values[key].stops, values[key].reference)}`;
  const face = setup.contrasts.find((one) => one.key === key) ?? setup.contrasts[0];
  const shadow = face && face.shadow !== key ? [face.shadow] : [];
  const told = new Set([key, ...shadow, ...(face ? [face.key] : [])]);
  const others = values
    .map((_, n) => n)
    .filter((n) => !told.has(n) && values[n].stops > -Infinity)
    .sort((a, b) => wanted(setup, b) - wanted(setup, a) || values[b].stops - values[a].stops);
  const part = (n) => {
    const { stops, reference } = values[n];
    return `${name(n)} ${reference === "key" ? levelWords(stops, "key") : levelAgainst(stops, "grey")}`;
  };
  const found = [];
  for (let count = Math.min(MOST_OTHERS, others.length); count >= 0; count -= 1) {
    found.push([main, ...shadow.map(part), ...others.slice(0, count).map(part)]);
  }
  found.push([main]);
  return found.map((parts) => `${parts.join("; ")}.`);
}

/**
 * The first text that takes no more lines than there are.
 * @param {string[]} texts
 * @param {number} width of a line, pixels
 * @param {number} lines
 * @param {(text: string) => number} measure width of a text, pixels
 */
export function fitting(texts, width, lines, measure) {
  const fits = (text) => {
    let count = 1;
    let line = "";
    for (const word of text.split(" ")) {
      const longer = line ? `${line} ${word}` : word;
      if (measure(longer) <= width) line = longer;
      else {
        count += 1;
        line = word;
      }
    }
    return count <= lines;
  };
  return texts.find(fits) ?? texts[texts.length - 1];
}
