// What the picture says at one place: over or under key, light on that surface, who gives it.

import { illuminance, luminance, perCent, stopsAgainst } from "./format.js";

const MOST_TOLD = 4;
const LEAST_SHARE = 0.005;
const HINT = "Point at the picture to read it; click, or Enter, puts a reading there.";

/**
 * @typedef {object} Spot what is read at a place
 * @property {Map<string, number[]>} parts each source's light, [r, g, b] in cd/m²
 * @property {number} reflectance luminous, of what is seen there; NaN for a light or the sky
 * @property {number[]} weights of luminance @property {number} greyNit
 * @property {"metric" | "imperial"} units @property {string} note what is left out, or nothing
 */

export class Readout {
  /** @param {HTMLElement} root */
  constructor(root) {
    this._level = part("strong", "readout-level");
    this._light = part("span", "readout-light");
    this._note = part("span", "readout-note");
    this._shares = part("ol", "readout-shares");
    const line = part("p", "readout-line");
    line.append(this._level, this._light, this._note);
    root.replaceChildren(line, this._shares);
    this.clear();
  }

  /** Say how one reads. */
  clear() {
    this._level.textContent = "";
    this._light.textContent = HINT;
    this._note.textContent = "";
    this._shares.replaceChildren();
  }

  /** What stands there, in one sentence. */
  words() {
    const shares = [...this._shares.children].map((item) => item.dataset.words);
    return [`${this._level.textContent}, ${this._light.textContent}`, ...shares].join("; ");
  }

  /** @param {Spot} spot */
  show({ parts, reflectance, weights, greyNit, units, note }) {
    const lit = [...parts]
      .map(([name, rgb]) => [name, rgb.reduce((sum, value, k) => sum + value * weights[k], 0)])
      .filter(([, nit]) => nit > 0)
      .sort((a, b) => b[1] - a[1]);
    const total = lit.reduce((sum, [, nit]) => sum + nit, 0);
    const stops = total > 0 ? Math.log2(total / greyNit) : -Infinity;
    this._level.textContent = stopsAgainst(stops, "middle grey");
    this._light.textContent =
      reflectance > 0
        ? `${illuminance((Math.PI * total) / reflectance, units)} on that surface`
        : luminance(total, units);
    this._note.textContent = note;
    this._shares.replaceChildren(...told(lit, total).map(([name, share]) => entry(name, share)));
  }
}

/** The largest shares, and all others together: they add up to the whole. */
function told(lit, total) {
  const worth = lit.filter(([, nit]) => nit >= LEAST_SHARE * total).slice(0, MOST_TOLD);
  const shares = worth.map(([name, nit]) => [name, nit / total]);
  const restOf = (some) => 1 - some.reduce((sum, [, share]) => sum + share, 0);
  if (total <= 0 || restOf(shares) < LEAST_SHARE) return shares;
  const first = shares.slice(0, MOST_TOLD - 1);
  return [...first, ["others", restOf(first)]];
}

function entry(name, share) {
  const item = part("li", "readout-share");
  const bar = part("span", "readout-bar");
  bar.setAttribute("aria-hidden", "true");
  bar.style.setProperty("--share", `${(100 * share).toFixed(1)}%`);
  const who = part("span", "readout-name");
  who.textContent = name;
  const much = part("span", "readout-percent");
  much.textContent = perCent(share);
  item.dataset.words = `${name} ${perCent(share)}`;
  item.append(who, much, bar);
  return item;
}

function part(name, className) {
  const made = document.createElement(name);
  made.className = className;
  return made;
}
