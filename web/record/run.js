// A run as the pages show it: what waits here laid over what the service has, which class a jar
// is of, and what stands on the sheet. Pure.

import { rowsFor } from "../now/spread.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */

/** The classes in the order they come over, each with its letter. @type {Record<Cut, string>} */
export const LETTERS = { foreshots: "A", heads: "B", hearts: "C", tails: "D", feints: "E" };
export const CUTS = /** @type {Cut[]} */ (Object.keys(LETTERS));

/** The marks that divide a run, in the order they come. @type {MarkKind[]} */
export const CUT_MARKS = ["first_drop", "foreshots_end", "hearts", "tails", "end"];

/** Those of them at which jars are changed for their class. @type {MarkKind[]} */
const CUTTING = ["foreshots_end", "hearts", "tails"];

/** From which mark on a jar is of which class. @type {Partial<Record<MarkKind, Cut>>} */
const CUT_FROM = { first_drop: "foreshots", foreshots_end: "heads", hearts: "hearts", tails: "tails" };

/** @template {RunRecord} Run @param {Run} run @param {readonly Waiting[]} waiting @returns {Run} */
export function overlaid(run, waiting) {
  const marks = laid(run.marks, waiting.filter(({ kind, scope }) => kind === "mark" && scope === run.id), newMark);
  const jars = laid(run.jars, waiting.filter(({ kind, scope }) => kind === "jar" && scope === run.id), newJar);
  return { ...run, marks: byTime(marks, ({ at }) => at), jars: closed(byTime(jars, ({ began_at }) => began_at)) };
}

/**
 * @template {{id: string}} Thing
 * @param {readonly Thing[]} things
 * @param {readonly Waiting[]} waiting
 * @param {(entry: Waiting) => Thing} begin
 */
function laid(things, waiting, begin) {
  const found = new Map(things.map((thing) => [thing.id, thing]));
  for (const entry of waiting) {
    const known = found.get(entry.subject);
    if (entry.body.source === "refused") continue; // of a proposal: it never stands
    if (entry.method === "POST" && entry.subject === entry.id) found.set(entry.id, known ?? begin(entry));
    else if (entry.method === "PUT" && known) found.set(entry.subject, { ...known, ...withoutVersion(entry.body), waiting: true });
    else if (known && takesAway(entry)) found.delete(entry.subject);
  }
  return [...found.values()];
}

/** What an undo of a change brings back is the service's to say. @param {Waiting} entry */
function takesAway({ method, path, body }) {
  return method === "DELETE" || (path.endsWith("/undo") && body.version === 1);
}

/** @param {Record<string, any>} body */
function withoutVersion({ version: _, id: __, ...rest }) {
  return rest;
}

/** @param {Waiting} entry @returns {MarkRecord} */
function newMark({ id, scope, body, made_ms }) {
  const blank = { id, run_id: scope ?? "", kind: /** @type {MarkKind} */ ("note"), at: new Date(made_ms).toISOString(), power_kw: null, text: "", smell: [], source: "tap", version: 1 };
  return { ...blank, ...body, id, waiting: true };
}

/** @param {Waiting} entry @returns {JarRecord} */
function newJar({ id, scope, body, made_ms }) {
  const { at = new Date(made_ms).toISOString(), ...rest } = body;
  const blank = {
    id, run_id: scope ?? "", number: 0, began_at: at, ended_at: null, volume_l: null, mass_kg: null,
    reading_abv: null, temperature_c: null, cut: null, text: "", smell: [], lot_id: null, version: 1,
  };
  return { ...blank, ...rest, id, began_at: at, waiting: true };
}

/** @template T @param {readonly T[]} things @param {(thing: T) => string} at */
function byTime(things, at) {
  return [...things].sort((a, b) => Date.parse(at(a)) - Date.parse(at(b)));
}

/** A jar that waits closes the one before it. @param {readonly JarRecord[]} jars @returns {JarRecord[]} */
function closed(jars) {
  return jars.map((jar, index) => {
    const next = jars[index + 1];
    return jar.ended_at === null && next ? { ...jar, ended_at: next.began_at } : jar;
  });
}

/** The jar that stands under the spout. @param {readonly JarRecord[]} jars */
export function openJar(jars) {
  return jars.findLast(({ ended_at }) => ended_at === null) ?? null;
}

/** The jar that was closed last. @param {readonly JarRecord[]} jars */
export function lastClosed(jars) {
  return jars.findLast(({ ended_at }) => ended_at !== null) ?? null;
}

/** The number the next jar gets. @param {readonly JarRecord[]} jars @param {number} told by the service */
export function nextNumber(jars, told) {
  return Math.max(told, 1 + Math.max(0, ...jars.map(({ number }) => number)));
}

/** The purposes of runs that are cut. */
const IS_CUT = ["spirit", "single", "botanical", "feints"];

/** The mark that comes next in a run; one that is not cut has a begin and an end. @param {readonly MarkRecord[]} marks @param {string} purpose @returns {MarkKind | null} */
export function fitting(marks, purpose) {
  const order = IS_CUT.includes(purpose) ? CUT_MARKS : CUT_MARKS.filter((kind) => !CUTTING.includes(kind));
  const placed = new Set(marks.map(({ kind }) => kind));
  const last = order.findLastIndex((kind) => placed.has(kind));
  return order[last + 1] ?? null;
}

/** @param {readonly MarkRecord[]} marks @param {MarkKind} kind */
function momentOf(marks, kind) {
  const found = marks.findLast((mark) => mark.kind === kind);
  return found ? Date.parse(found.at) : null;
}

/** What came over, as far as its class goes. @typedef {Pick<RunRecord, "marks" | "purpose">} Divided */

/** The class a jar is of: as a person said, else as the marks of a run that is cut say where it began. @param {JarRecord} jar @param {Divided} run @returns {Cut | null} */
export function cutOf(jar, { marks, purpose }) {
  if (jar.cut || !IS_CUT.includes(purpose)) return jar.cut;
  const began = Date.parse(jar.began_at);
  const slack = 30_000; // a jar changed at the cut is pressed a moment before the mark, or after
  /** @type {Cut | null} */
  let cut = null;
  for (const kind of CUT_MARKS) {
    const at = momentOf(marks, kind);
    const next = CUT_FROM[kind];
    if (at !== null && next && at <= began + slack) cut = next;
  }
  return cut;
}

/**
 * A piece of the ribbon: a jar, or a stretch without one.
 * @typedef {object} Piece
 * @property {string} key
 * @property {number} from_ms
 * @property {number} to_ms
 * @property {Cut | null} cut
 * @property {JarRecord | null} jar
 * @property {boolean} heating nothing has come over yet
 * @property {boolean} open
 */

/** What runs under the sheet. @param {RunRecord} run @param {number} now_ms @returns {Piece[]} */
export function piecesOf(run, now_ms) {
  const end = run.ended_at ? Date.parse(run.ended_at) : now_ms;
  const first = momentOf(run.marks, "first_drop") ?? (run.jars[0] ? Date.parse(run.jars[0].began_at) : end);
  /** @type {Piece[]} */
  const found = [{ key: `${run.id} heating`, from_ms: Date.parse(run.started_at), to_ms: first, cut: null, jar: null, heating: true, open: false }];
  if (run.jars.length === 0) return [...found, ...stretches(run, first, end)];
  for (const jar of run.jars) {
    const to_ms = jar.ended_at ? Date.parse(jar.ended_at) : end;
    found.push({ key: jar.id, from_ms: Date.parse(jar.began_at), to_ms, cut: cutOf(jar, run), jar, heating: false, open: jar.ended_at === null });
  }
  return found;
}

/** A run without jars shows the classes its marks divide it into. @param {RunRecord} run @param {number} from_ms @param {number} to_ms @returns {Piece[]} */
function stretches(run, from_ms, to_ms) {
  if (!IS_CUT.includes(run.purpose)) return undivided(run, from_ms, to_ms);
  const marks = CUT_MARKS.flatMap((kind) => {
    const at = momentOf(run.marks, kind);
    return at === null ? [] : [{ kind, at }];
  });
  return marks.flatMap(({ kind, at }, index) => {
    const cut = CUT_FROM[kind] ?? null;
    const next = marks[index + 1]?.at ?? to_ms;
    return cut && next > at && at >= from_ms ? [{ key: `${run.id} ${kind}`, from_ms: at, to_ms: next, cut, jar: null, heating: false, open: index === marks.length - 1 }] : [];
  });
}

/** What is not cut comes over in one piece. @param {RunRecord} run @param {number} from_ms @param {number} to_ms @returns {Piece[]} */
function undivided({ id, marks, ended_at }, from_ms, to_ms) {
  const end = momentOf(marks, "end");
  const to = Math.min(end ?? to_ms, to_ms);
  return to > from_ms ? [{ key: `${id} running`, from_ms, to_ms: to, cut: null, jar: null, heating: false, open: end === null && ended_at === null }] : [];
}

const LETTER_PX = 6.6; // generous
const AIR_PX = 8;

/**
 * Where labels of marks stand so that none touches another: those that divide the run first, then
 * the others as far as there is room.
 * @template {{kind: MarkKind, x: number, text: string}} Label
 * @param {readonly Label[]} labels
 * @param {number} width
 * @param {number} rows
 * @returns {(Label & {row: number | null, left: number})[]} in rising order of x
 */
export function labelled(labels, width, rows) {
  const size = (/** @type {Label} */ { text }) => text.length * LETTER_PX + 6;
  const left = (/** @type {Label} */ label) => (label.x + size(label) <= width ? label.x : Math.max(0, label.x - size(label)));
  const inOrder = labels.map((label) => ({ ...label, left: left(label) })).sort((a, b) => a.left - b.left);
  const chief = inOrder.filter(({ kind }) => CUT_MARKS.includes(kind));
  const row = new Map(placed(chief, size, rows, []));
  for (const [label, at] of placed(inOrder.filter((each) => !chief.includes(each)), size, rows, chief.filter((each) => row.get(each) != null).map((each) => ({ from: each.left, to: each.left + size(each), row: row.get(each) ?? 0 })))) row.set(label, at);
  return inOrder.map((label) => ({ ...label, row: row.get(label) ?? null }));
}

/**
 * @template {{left: number}} Label
 * @param {readonly Label[]} labels
 * @param {(label: any) => number} size
 * @param {number} rows
 * @param {readonly {from: number, to: number, row: number}[]} taken
 * @returns {[Label, number | null][]}
 */
function placed(labels, size, rows, taken) {
  if (taken.length === 0) {
    const found = rowsFor(labels.map((label) => ({ at: label.left, size: size(label) })), rows, AIR_PX);
    return labels.map((label, index) => [label, found[index] ?? null]);
  }
  const all = [...taken];
  return labels.map((label) => {
    const [from, to] = [label.left, label.left + size(label)];
    const free = Array.from({ length: rows }, (_, row) => row).find((row) => all.every((one) => one.row !== row || one.to + AIR_PX <= from || to + AIR_PX <= one.from));
    if (free === undefined) return [label, null];
    all.push({ from, to, row: free });
    return [label, free];
  });
}

/** A run with what the service made of an entry. @param {NowRun} run @param {Waiting} entry @param {Record<string, any> | null} record @returns {NowRun} */
export function merged(run, entry, record) {
  const put = (/** @type {any[]} */ things) => {
    const others = things.filter(({ id }) => id !== entry.subject);
    return record?.id && entry.method !== "DELETE" && !record.withdrawn ? [...others, record] : others;
  };
  if (entry.kind === "jar") return { ...run, jars: put(run.jars) };
  if (entry.kind !== "mark") return run;
  const marks = put(run.marks);
  return { ...run, marks, fitting_mark: fitting(marks, run.purpose) }; // should the service fall silent now
}
