// The rules by which entries wait for the service: in order, one record's changes one after the
// other, what is refused kept for mending. Pure; waiting.js keeps and sends.

/**
 * Why an entry stays: the service's sentence, and what stands there now where it was changed.
 * @typedef {{status: number, sentence: string, field: string | null, now: Record<string, any> | null}} Trouble
 */

/**
 * Something a person entered, on its way to the service.
 * @typedef {object} Waiting
 * @property {string} id sorts by when it was made; a new record has the same
 * @property {string} subject the record it makes or changes
 * @property {string | null} scope what that belongs to: its run, its batch
 * @property {string} kind of the record: "mark", "jar", "entry" …
 * @property {"POST" | "PUT" | "DELETE"} method
 * @property {string} path under /api
 * @property {Record<string, any>} body
 * @property {string} label what it is, in words
 * @property {number} made_ms
 * @property {number} attempts how often it was sent without an answer
 * @property {Trouble | null} trouble
 */

/**
 * What came of sending one: taken (with the record as it stands), no answer, one that holds all
 * of them up (a sign-in is asked for, the service is busy), or a refusal of this one.
 * @typedef {{kind: "taken", record: Record<string, any> | null}
 *   | {kind: "silent"}
 *   | {kind: "held", sentence: string}
 *   | {kind: "refused", trouble: Trouble}} Outcome
 */

const HOLDS_ALL = [401, 403, 408, 425, 429, 502, 503, 504];
const GONE = [404, 410];

/** @param {readonly Waiting[]} entries */
export function inOrder(entries) {
  return [...entries].sort((a, b) => (a.id < b.id ? -1 : 1));
}

/** The next to send: the oldest that follows no refused change of the same record. @param {readonly Waiting[]} entries */
export function nextOf(entries) {
  /** @type {Set<string>} */
  const stuck = new Set();
  for (const entry of inOrder(entries)) {
    if (entry.trouble) stuck.add(entry.subject);
    else if (!stuck.has(entry.subject)) return entry;
  }
  return null;
}

/**
 * Whether an entry is not answered soon: nothing answers, or it follows a refused change of the
 * same record.
 * @param {readonly Waiting[]} entries
 * @param {Waiting} entry
 */
export function restsFor(entries, { id, subject }) {
  return entries.some((one) => one.id <= id && (one.trouble ? one.subject === subject : one.attempts > 0));
}

/** How an answer that is no success is to be read. @param {Trouble} trouble @param {Waiting} entry @returns {Outcome} */
export function readRefusal(trouble, entry) {
  if (HOLDS_ALL.includes(trouble.status)) return { kind: "held", sentence: trouble.sentence };
  if (GONE.includes(trouble.status) && entry.method === "DELETE" && entry.attempts > 0) return { kind: "taken", record: null };
  if (trouble.status === 409 && stands(entry, trouble.now)) return { kind: "taken", record: trouble.now };
  return { kind: "refused", trouble };
}

/**
 * Whether what was wanted is what stands there: the change had arrived and only its answer was
 * lost.
 * @param {Waiting} entry
 * @param {Record<string, any> | null} now
 */
export function stands(entry, now) {
  if (entry.method !== "PUT" || !now || entry.attempts === 0) return false;
  return Object.entries(entry.body).every(([name, value]) => name === "version" || name === "id" || alike(now[name], value));
}

/** Times are one instant however they are written. @param {unknown} a @param {unknown} b */
function alike(a, b) {
  if (typeof a === "string" && typeof b === "string" && /^\d{4}-\d\d-\d\dT/.test(a)) return Date.parse(a) === Date.parse(b);
  return JSON.stringify(a ?? null) === JSON.stringify(b ?? null);
}

/**
 * The entries after one was sent. Later changes of the same record stand on this one.
 * @param {readonly Waiting[]} entries
 * @param {string} id
 * @param {Outcome} outcome
 * @returns {Waiting[]}
 */
export function after(entries, id, outcome) {
  const sent = entries.find((entry) => entry.id === id);
  if (!sent) return [...entries];
  if (outcome.kind === "taken") {
    const version = reached(sent, outcome.record);
    return entries.filter((entry) => entry !== sent).map((entry) => (entry.subject === sent.subject && !entry.trouble ? rebased(entry, version) : entry));
  }
  const changed = outcome.kind === "refused" ? { ...sent, trouble: outcome.trouble } : { ...sent, attempts: sent.attempts + 1 };
  return entries.map((entry) => (entry === sent ? changed : entry));
}

/**
 * The version to which an entry brought its record. Sent again, it is answered with what stands
 * by then: what another made meanwhile was never seen here.
 * @param {Waiting} entry
 * @param {Record<string, any> | null} record
 * @returns {number | undefined}
 */
export function reached({ body }, record) {
  return record?.version === undefined ? undefined : Math.min(record.version, (body.version ?? 0) + 1);
}

/** It stands on that version, or on a later one that was before the person. @param {Waiting} entry @param {number | undefined} version @returns {Waiting} */
function rebased(entry, version) {
  if (version === undefined || entry.body.version === undefined) return entry;
  return { ...entry, body: { ...entry.body, version: Math.max(version, entry.body.version) } };
}

/** A refused entry, put right. @param {Waiting} entry @param {Record<string, any>} body @returns {Waiting} */
export function mended(entry, body) {
  return { ...entry, body: { ...entry.body, ...body }, trouble: null };
}

/** A change that met another's, to stand all the same. @param {Waiting} entry @returns {Waiting} */
export function insisted(entry) {
  return mended(entry, { version: entry.trouble?.now?.version });
}

/**
 * What an undo has to do with what it undoes: nothing was sent yet, so it is simply not sent; or
 * it may have arrived, so a withdrawal follows it.
 * @param {readonly Waiting[]} entries
 * @param {string} id
 * @returns {"drop" | "follow"}
 */
export function undoing(entries, id) {
  const entry = entries.find((each) => each.id === id);
  return entry && (entry.attempts === 0 || entry.trouble) ? "drop" : "follow";
}

/** The fields in which two people differ. @param {Waiting} entry @returns {{name: string, mine: any, theirs: any}[]} */
export function differences({ body, trouble }) {
  const now = trouble?.now;
  if (!now) return [];
  return Object.entries(body)
    .filter(([name, mine]) => name !== "version" && name !== "id" && name in now && !alike(now[name], mine))
    .map(([name, mine]) => ({ name, mine, theirs: now[name] }));
}
