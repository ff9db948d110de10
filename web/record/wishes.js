// What is asked of the service for marks and jars, as entries that can wait. Pure but for ids.

import { uuid7 } from "../shared/uuid7.js";

/** @typedef {import("../shared/waiting.js").Wish} Wish */
/** @typedef {import("../shared/queue.js").Waiting} Waiting */

/** @param {RunRecord} run @param {import("./mark_form.js").Saying & {source: string}} saying @param {string} label @returns {Wish & {id: string}} */
export function placeMark(run, saying, label) {
  const id = uuid7();
  return { id, scope: run.id, kind: "mark", method: "POST", path: `runs/${run.id}/marks`, body: saying, label };
}

/** @param {MarkRecord} mark @param {import("./mark_form.js").Saying} saying @param {string} label @returns {Wish} */
export function changeMark(mark, saying, label) {
  return { subject: mark.id, scope: mark.run_id, kind: "mark", method: "PUT", path: `marks/${mark.id}`, body: { ...saying, version: mark.version }, label };
}

/** @param {{id: string, run_id: string, version: number}} thing @param {"mark" | "jar" | "lot" | "measure" | "transfer"} kind @param {string} label @returns {Wish} */
export function withdraw({ id, run_id, version }, kind, label) {
  return { subject: id, scope: run_id, kind, method: "DELETE", path: `${kind}s/${id}`, body: { version }, label };
}

/** @param {RunRecord} run @param {number} number @param {string} at @param {string} label @returns {Wish & {id: string}} */
export function nextJar(run, number, at, label) {
  const id = uuid7();
  return { id, scope: run.id, kind: "jar", method: "POST", path: `runs/${run.id}/jars`, body: { at, number }, label };
}

/** What is left out stays as it is. @param {JarRecord} jar @param {Partial<JarRecord>} change @param {string} label @returns {Wish} */
export function changeJar(jar, change, label) {
  const body = { ...change, version: jar.version };
  return { subject: jar.id, scope: jar.run_id, kind: "jar", method: "PUT", path: `jars/${jar.id}`, body, label };
}

/** What cannot be taken back by itself: a lock stands, and what it has wrong, or a jar's tare, is entered anew. */
const LASTING = ["locks", "corrections", "jar-vessels"];
/** Where the service takes back what was entered elsewhere. @type {Record<string, string>} */
const KEPT_AMONG = { proofings: "entries" };

/** Of which list of the service an entry is: "marks" of runs/ID/marks and of marks/ID. @param {Pick<Waiting, "method" | "path">} entry */
function listOf({ method, path }) {
  return path.split("/").at(method === "POST" ? -1 : -2) ?? "";
}

/** @param {Pick<Waiting, "method" | "path">} entry */
export function canTakeBack(entry) {
  return !LASTING.includes(listOf(entry));
}

/** What takes an entry back that may have arrived: of a change what stood before, of a new thing all. @param {Waiting} entry @param {string} label @returns {Wish} */
export function takeBack(entry, label) {
  const { subject, scope, kind, body } = entry;
  const list = listOf(entry);
  if (body.source === "refused") return { subject, scope, kind, method: "PUT", path: `marks/${subject}`, body: { version: 1, source: "proposal" }, label }; // so it was as proposed
  return { subject, scope, kind, method: "POST", path: `${KEPT_AMONG[list] ?? list}/${subject}/undo`, body: { version: (body.version ?? 0) + 1 }, label };
}

/** Whether the live page has a form for what was refused: a mark's, or a jar's measures; a line that was ticked has none. @param {Pick<Waiting, "kind" | "method" | "path">} entry */
export function canMend({ kind, method, path }) {
  if (kind === "jar") return method === "PUT";
  return kind === "mark" && method !== "DELETE" && !path.endsWith("/undo");
}

/** @param {RunRecord} run @param {string} key @param {string} label @returns {Wish} */
export function tickLine(run, key, label) {
  return { scope: run.id, kind: "tick", method: "POST", path: `runs/${run.id}/checklist`, body: { key }, label };
}

/** @param {{id: string, version: number}} entry @param {string} scope its batch @param {string} label @returns {Wish} */
export function withdrawEntry({ id, version }, scope, label) {
  return { subject: id, scope, kind: "entry", method: "DELETE", path: `entries/${id}`, body: { version }, label };
}
