// Times as people read them: in the site's own zone, wherever the browser is.

import { LOCALE, say } from "../texts.js";

/** @type {Map<string, Intl.DateTimeFormat>} */
const formats = new Map();

/**
 * @param {string} zone
 * @param {Intl.DateTimeFormatOptions} options
 */
function format(zone, options) {
  const key = zone + JSON.stringify(options);
  const known = formats.get(key);
  if (known) return known;
  const made = new Intl.DateTimeFormat(LOCALE, { timeZone: zone, ...options });
  formats.set(key, made);
  return made;
}

/** Wall-clock parts of an instant in a zone. @typedef {{y: number, mo: number, d: number, h: number, mi: number, s: number}} Wall */

/**
 * @param {number} ms
 * @param {string} zone
 * @returns {Wall}
 */
export function wallOf(ms, zone) {
  /** @type {Record<string, number>} */
  const found = {};
  const numeric = /** @type {const} */ ({
    year: "numeric", month: "numeric", day: "numeric",
    hour: "numeric", minute: "numeric", second: "numeric", hourCycle: "h23",
  });
  for (const part of format(zone, numeric).formatToParts(ms)) found[part.type] = Number(part.value);
  const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = found;
  return { y: year, mo: month, d: day, h: hour, mi: minute, s: second };
}

/**
 * The instant at which a zone's clock shows a time; one that is skipped in spring is taken as if
 * the clock had not yet moved. Parts may overflow (day 32 is the next month's first).
 * @param {string} zone
 * @param {number} y
 * @param {number} mo month, January is 1
 * @param {number} d
 * @param {number} [minutes] after local midnight
 */
export function instantOf(zone, y, mo, d, minutes = 0) {
  const asIfUtc = Date.UTC(y, mo - 1, d, 0, minutes);
  const guess = asIfUtc - offsetAt(asIfUtc, zone);
  return asIfUtc - offsetAt(guess, zone);
}

/**
 * How far a zone's clock stands before UTC, in milliseconds.
 * @param {number} ms
 * @param {string} zone
 */
export function offsetAt(ms, zone) {
  const wall = wallOf(ms, zone);
  const asIfUtc = Date.UTC(wall.y, wall.mo - 1, wall.d, wall.h, wall.mi, wall.s);
  return asIfUtc - Math.floor(ms / 1000) * 1000;
}

/** "21:42" @param {number} ms @param {string} zone */
export function timeOfDay(ms, zone) {
  return format(zone, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(ms);
}

/** "21:42:05" @param {number} ms @param {string} zone */
export function timeToSecond(ms, zone) {
  const options = /** @type {const} */ ({
    hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23",
  });
  return format(zone, options).format(ms);
}

/** "Tue 14 Nov" @param {number} ms @param {string} zone */
export function day(ms, zone) {
  return format(zone, { weekday: "short", day: "numeric", month: "short" }).format(ms).replace(",", "");
}

/** "Tue" @param {number} ms @param {string} zone */
export function weekday(ms, zone) {
  return format(zone, { weekday: "short" }).format(ms);
}

/** "14" @param {number} ms @param {string} zone */
export function dayOfMonth(ms, zone) {
  return format(zone, { day: "numeric" }).format(ms);
}

/** "14 Nov" @param {number} ms @param {string} zone */
export function dayAndMonth(ms, zone) {
  return format(zone, { day: "numeric", month: "short" }).format(ms);
}

/** "Nov" @param {number} ms @param {string} zone */
export function month(ms, zone) {
  return format(zone, { month: "short" }).format(ms);
}

/** "November 2026" @param {number} ms @param {string} zone */
export function monthAndYear(ms, zone) {
  return format(zone, { month: "long", year: "numeric" }).format(ms);
}

/** "2026" @param {number} ms @param {string} zone */
export function year(ms, zone) {
  return format(zone, { year: "numeric" }).format(ms);
}

/**
 * A time as said in a sentence: "21:42" today and within twelve hours, "Mon 21:42" within the week, else with its date.
 * @param {number} ms
 * @param {number} now_ms
 * @param {string} zone
 */
export function saidTime(ms, now_ms, zone) {
  const time = timeOfDay(ms, zone);
  if (now_ms - ms < 432e5 || (day(ms, zone) === day(now_ms, zone) && now_ms - ms < 864e5)) return time;
  if (now_ms - ms < 6 * 864e5) return `${weekday(ms, zone)} ${time}`;
  const far = now_ms - ms > 300 * 864e5;
  return far ? `${dayAndMonth(ms, zone)} ${year(ms, zone)}` : `${dayAndMonth(ms, zone)} ${time}`;
}

/** A time with its date, wherever it lies: "21 Sept 2026, 16:15". @param {number} ms @param {string} zone */
export function wholeTime(ms, zone) {
  return `${dayAndMonth(ms, zone)} ${year(ms, zone)}, ${timeOfDay(ms, zone)}`;
}

const STEPS = /** @type {const} */ ([
  ["age.days", 86_400],
  ["age.hours", 3_600],
  ["age.minutes", 60],
  ["age.seconds", 1],
]);

/** "12 s", "4 min", "3 h", "2 d" @param {number} ms */
export function age(ms) {
  const seconds = Math.max(0, Math.round(ms / 1000));
  const [key, size] = STEPS.find(([, each]) => seconds >= each * (each >= 60 ? 2 : 1)) ?? STEPS[3];
  return say(key, { count: Math.round(seconds / size) });
}

/**
 * "just now" while a reading is as new as its cadence allows, else "12 s ago".
 * @param {number} ms
 * @param {number} period_s
 */
export function ago(ms, period_s) {
  if (ms < (period_s + 2) * 1000) return say("age.now");
  return say("age.ago", { age: age(ms) });
}
