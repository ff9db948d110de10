// Which batch held which vessel, as ribbons on one axis of time. What it shows is pure; it draws
// with plain boxes.

import { dayAndMonth, instantOf, wallOf } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { say } from "../texts.js";

const DAY_MS = 86_400_000;
const DAYS = 14;
const TICKS = 4;
const LATE = 0.8; // from here on, a tick's text stands before it: after it, it would run off a phone

/** @typedef {{from: number, to: number, open: boolean, one: OccupancyRecord}} Piece a stretch, in parts of the whole time shown */

/** @param {readonly OccupancyRecord[]} occupancies @param {string} vessel_id @param {number} from_ms @param {number} to_ms @returns {Piece[]} */
export function pieces(occupancies, vessel_id, from_ms, to_ms) {
  /** @param {number} ms */
  const part = (ms) => Math.min(1, Math.max(0, (ms - from_ms) / (to_ms - from_ms)));
  return occupancies
    .filter((one) => one.vessel_id === vessel_id)
    .map((one) => ({ from: part(Date.parse(one.started_at)), to: part(one.ended_at === null ? to_ms : Date.parse(one.ended_at)), open: one.ended_at === null, one }))
    .filter(({ from, to }) => to > from)
    .sort((a, b) => a.from - b.from);
}

/** Midnights of the site within the time shown, few enough to be read. @param {number} from_ms @param {number} to_ms @param {string} zone */
export function midnights(from_ms, to_ms, zone) {
  const { y, mo, d } = wallOf(from_ms, zone);
  const every = Math.ceil((to_ms - from_ms) / DAY_MS / TICKS);
  const found = [];
  for (let step = every; instantOf(zone, y, mo, d + step) < to_ms; step += every) found.push(instantOf(zone, y, mo, d + step));
  return found;
}

/** @param {readonly VesselRecord[]} vessels @param {readonly OccupancyRecord[]} occupancies @param {number} now_ms @param {string} zone */
export function drawRibbons(vessels, occupancies, now_ms, zone) {
  const oldest_ms = Math.min(now_ms - DAY_MS, ...occupancies.map(({ started_at }) => Date.parse(started_at)));
  const from_ms = Math.max(now_ms - DAYS * DAY_MS, oldest_ms);
  const held = vessels.map((vessel) => ({ vessel, found: pieces(occupancies, vessel.id, from_ms, now_ms) })).filter(({ found }) => found.length > 0);
  if (held.length === 0) return null;
  const axis = make("div", { class: "axis" });
  for (const ms of midnights(from_ms, now_ms, zone)) axis.append(tick((ms - from_ms) / (now_ms - from_ms), dayAndMonth(ms, zone)));
  const rows = held.map(({ vessel, found }) => make("li", {}, make("span", { class: "name" }, vessel.name), make("div", { class: "band" }, ...found.map(box))));
  return make("section", { class: "ribbons", "aria-label": say("ribbon.label", { days: Math.ceil((now_ms - from_ms) / DAY_MS) }) }, make("ul", {}, ...rows, make("li", { "aria-hidden": "true" }, make("span", { class: "name" }), axis)));
}

/** @param {number} share @param {string} text */
function tick(share, text) {
  const late = share > LATE;
  const element = make("span", late ? { class: "late" } : {}, text);
  if (late) element.style.right = percent(1 - share);
  else element.style.left = percent(share);
  return element;
}

/** @param {Piece} piece */
function box({ from, to, open, one }) {
  const text = say("ribbon.piece", { batch: one.batch, stage: say(`stage.${one.stage}`) });
  const element = make("span", { class: `piece ${one.stage}${open ? " open" : ""}`, title: text }, make("span", {}, text));
  if (open) element.style.right = "0"; // one just begun is still to be seen
  else element.style.left = percent(from);
  element.style.width = percent(to - from);
  return element;
}

/** @param {number} share */
function percent(share) {
  return `${(share * 100).toFixed(2)}%`;
}
