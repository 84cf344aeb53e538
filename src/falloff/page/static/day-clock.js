// Times of a day: real minutes since its midnight, and what a clock shows then, also on the days on
// which it is set forward or back.

/** @typedef {{length: number, ahead: [number, number][]}} Clock as docs/page.md has it */

/** What a clock shows to the nearest minute, "13:40". @param {Clock} clock @param {number} minute @returns {string} */
export function clockText(clock, minute) {
  const near = Math.floor(minute + 0.5);
  const shown = near + aheadAt(clock, near) - clock.ahead[0][1];
  const wrapped = ((shown % 1440) + 1440) % 1440;
  return `${two(Math.floor(wrapped / 60))}:${two(wrapped % 60)}`;
}

/**
 * The same so that it can be read back: with its offset where the clock shows it twice that day.
 * @param {Clock} clock @param {number} minute
 */
export function timeText(clock, minute) {
  const text = clockText(clock, minute);
  if (!comesTwice(clock, minute)) return text;
  const ahead = aheadAt(clock, minute);
  const size = Math.abs(ahead);
  return `${text}${ahead < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** The real minutes at which a clock shows each whole hour. @param {Clock} clock */
export function wholeHours(clock) {
  const found = [];
  for (let minute = 0; minute <= clock.length; minute += 60) found.push(minute);
  return found;
}

/**
 * The real minute at which a clock shows a time that was typed, "13:40"; null for one that it skips.
 * @param {Clock} clock @param {string} text
 */
export function minuteAt(clock, text) {
  const [hours, minutes] = text.split(":").map(Number);
  if (!Number.isFinite(hours) || !Number.isFinite(minutes)) return null;
  const shown = 60 * hours + minutes;
  for (const [, ahead] of clock.ahead) {
    const minute = shown - ahead + clock.ahead[0][1];
    if (minute >= 0 && minute < clock.length && clockText(clock, minute) === text.slice(0, 5)) return minute;
  }
  return null;
}

/** @param {Clock} clock @param {number} minute */
function aheadAt(clock, minute) {
  let ahead = clock.ahead[0][1];
  for (const [from, now] of clock.ahead) if (minute >= from) ahead = now;
  return ahead;
}

/** @param {Clock} clock @param {number} minute */
function comesTwice(clock, minute) {
  if (clock.ahead.length < 2) return false;
  const [[, before], [at, after]] = clock.ahead;
  const back = before - after;
  return back > 0 && minute >= at - back && minute < at + back;
}

/** @param {number} value */
function two(value) {
  return String(value).padStart(2, "0");
}
