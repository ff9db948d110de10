// What happened to a lot, the newest first: what was measured of it, what came and went, and what
// of that still waits. Pure.

import { say } from "../texts.js";
import { readText, shortText } from "./tell.js";
import { otherEnd } from "./ways.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */

/**
 * @typedef {object} Event
 * @property {string} key
 * @property {number} at_ms
 * @property {string} title
 * @property {string} value
 * @property {string} about
 * @property {MeasureRecord | null} measure
 * @property {TransferRecord | null} move
 * @property {EntryRecord | null} entry which stands for the transfer or the measure, or says more of the lot
 * @property {boolean} waiting
 */

const NONE = { measure: null, move: null, entry: null, waiting: false };
/** What an entry of a stage moves goes by the entry. @type {Record<string, string>} */
const MOVES = { sample: "sample", top_up: "merge", water_added: "dilute" };

/**
 * @param {object} given
 * @param {string} given.here
 * @param {readonly MeasureRecord[]} given.measures
 * @param {readonly TransferRecord[]} given.moves
 * @param {readonly EntryRecord[]} given.entries
 * @param {readonly Waiting[]} given.waiting
 * @param {(id: string) => string} given.nameOf
 * @param {(entry: EntryRecord) => {title: string, value: string}} given.told how an entry is told
 * @returns {Event[]}
 */
export function eventsOf({ here, measures, moves, entries, waiting, nameOf, told }) {
  const corrections = entries.filter(({ kind }) => kind === "correction");
  const measured = measures.map((measure) => ({ ...NONE, entry: corrections.find(({ at }) => at === measure.at) ?? null, key: measure.id, at_ms: Date.parse(measure.at), title: say("lots.event.measure"), value: shortText(measure.at_20_c), about: readText(measure), measure }));
  const moved = moves.map((move) => ({ ...NONE, ...movedAs(move, here, nameOf), key: move.id, at_ms: Date.parse(move.at), move, entry: entries.find(({ kind, at }) => MOVES[kind] === move.kind && at === move.at) ?? null }));
  const own = entries.filter(({ kind }) => MOVES[kind] === undefined).map((entry) => ({ ...NONE, ...told(entry), key: entry.id, at_ms: Date.parse(entry.at), about: entry.text, entry }));
  const known = new Set([...measures, ...moves].map(({ id }) => id));
  const waits = waiting.filter(({ id, subject }) => id === subject && !known.has(id)).flatMap((entry) => {
    const { kind, scope, body, made_ms } = entry;
    const late = { ...NONE, key: entry.id, at_ms: made_ms, about: say("batch.waits"), waiting: true };
    const blank = { volume_l: null, abv: null, pure_alcohol_l: null };
    if (kind === "measure" && scope === here) return [{ ...late, title: say("lots.event.measure"), value: readText(blankRead(body)) }];
    if (kind !== "transfer" || (body.from_lot !== here && body.to_lot !== here)) return [];
    const move = /** @type {TransferRecord} */ ({ from_lot: null, to_lot: null, ...body, at_20_c: { ...blank, volume_l: body.volume_l ?? null } });
    return [{ ...late, ...movedAs(move, here, nameOf), about: say("batch.waits") }];
  });
  return [...measured, ...moved, ...own, ...waits].sort((a, b) => b.at_ms - a.at_ms);
}

const BESIDE = /^[0-9a-f]{8}-[0-9a-f]{4}-5/; // ids of what stands beside an entry, and is corrected there

/**
 * Whether it stays as it is: what stands beside an entry is corrected with it, and a correction
 * after a lock by the next one.
 * @param {Pick<Event, "entry"> & {measure?: {id: string} | null, move?: {id: string} | null}} event
 */
export function staysAsItIs({ entry, measure, move }) {
  return entry ? entry.kind === "correction" : BESIDE.test((measure ?? move)?.id ?? "");
}

/** @param {Record<string, any>} body @returns {Gauging} */
function blankRead(body) {
  return { volume_l: null, volume_temperature_c: null, volume_error_l: null, mass_kg: null, reading_abv: null, temperature_c: null, instrument: null, reading_error_abv: null, ...body };
}

/** @param {TransferRecord} move @param {string} here @param {(id: string) => string} nameOf */
function movedAs(move, here, nameOf) {
  const other = otherEnd(move, here);
  const came = move.to_lot === here;
  const where = other === null ? "" : say(came ? "lots.from" : "lots.into", { name: nameOf(other) });
  const amount = shortText(move.at_20_c);
  return {
    title: say(`went.${move.kind}`),
    value: amount === "–" ? say(came ? "lots.amount.unknown" : "lots.amount.all") : say(came ? "lots.plus" : "lots.minus", { amount }),
    about: [where, move.text].filter(Boolean).join(" "),
  };
}
