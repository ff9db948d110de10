// A moment as a form's field holds it, on the site's own clock; and back. Pure.

import { instantOf, wallOf } from "./clock.js";

/** "2026-03-14T13:05" @param {number} ms @param {string} zone */
export function stampOf(ms, zone) {
  const { y, mo, d, h, mi } = wallOf(ms, zone);
  const two = (/** @type {number} */ number) => String(number).padStart(2, "0");
  return `${String(y).padStart(4, "0")}-${two(mo)}-${two(d)}T${two(h)}:${two(mi)}`;
}

/** The instant, as the service takes it; what is no stamp is handed on to be refused. @param {string} stamp @param {string} zone */
export function momentOf(stamp, zone) {
  const found = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)/.exec(stamp);
  if (!found) return stamp;
  const [y, mo, d, h, mi] = found.slice(1).map(Number);
  return new Date(instantOf(zone, y ?? 0, mo ?? 1, d ?? 1, (h ?? 0) * 60 + (mi ?? 0))).toISOString();
}
