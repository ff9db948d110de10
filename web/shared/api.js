// The one place that speaks HTTP to the service.

const ROOT = new URL("../api/", import.meta.url);
const PATIENCE_MS = 10_000;
const AS_OF = "x-wormtub-as-of"; // worker.js writes it

/** @type {WeakMap<object, number>} */
const old = new WeakMap();

/** When the service said what was answered from memory, without a network; null of what it says now. @param {object | null} body */
export function asOf(body) {
  return (body && old.get(body)) ?? null;
}

/** What the service refused, in its own sentence. */
export class Refusal extends Error {
  /**
   * @param {string} sentence
   * @param {string} kind
   * @param {string | null} field
   * @param {number} status
   * @param {Record<string, any> | null} [now] what stands there, where it was changed meanwhile
   */
  constructor(sentence, kind, field, status, now = null) {
    super(sentence);
    this.kind = kind;
    this.field = field;
    this.status = status;
    this.now = now;
  }
}

/** The service did not answer at all, or answered something that is not ours. */
export class Silence extends Error {}

/**
 * Return an address under /api.
 * @param {string} path
 * @param {Record<string, string | number>} [query]
 */
export function apiUrl(path, query = {}) {
  const url = new URL(path, ROOT);
  for (const [name, value] of Object.entries(query)) url.searchParams.set(name, String(value));
  return url.href;
}

/**
 * Ask for something. Throws Refusal, Silence, or the AbortError of a signal.
 * @template T
 * @param {string} path
 * @param {Record<string, string | number>} [query]
 * @param {AbortSignal} [signal]
 * @returns {Promise<T>}
 */
export function get(path, query, signal) {
  return send("GET", path, query, undefined, signal);
}

/**
 * Send something (POST, PUT, DELETE) with a JSON body.
 * @template T
 * @param {"GET" | "POST" | "PUT" | "DELETE"} method
 * @param {string} path
 * @param {Record<string, string | number>} [query]
 * @param {unknown} [body]
 * @param {AbortSignal} [signal]
 * @param {number} [patience_ms] how long an answer may take
 * @returns {Promise<T>}
 */
export async function send(method, path, query, body, signal, patience_ms = PATIENCE_MS) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), patience_ms);
  signal?.addEventListener("abort", () => patience.abort());
  try {
    const answer = await fetch(apiUrl(path, query), {
      method,
      signal: patience.signal,
      ...(body === undefined
        ? {}
        : { body: JSON.stringify(body), headers: { "content-type": "application/json" } }),
    });
    return await read(answer);
  } catch (error) {
    if (error instanceof Refusal || signal?.aborted) throw error;
    throw new Silence("the service does not answer", { cause: error });
  } finally {
    clearTimeout(timer);
  }
}

/** Nobody is signed in here any more: to the sign-in, which leads back to this page. */
function leaveToSignIn() {
  const page = new URL("../doors.html", import.meta.url);
  const here = location.href.slice(new URL("../", import.meta.url).href.length);
  if (location.pathname === page.pathname) return; // it says itself what was wrong
  page.searchParams.set("to", here);
  location.assign(page);
}

/** A line that was refused does not say why: see whether somebody is still signed in. */
export async function seeWhoAsks() {
  try {
    const { role } = await get("doors/me");
    if (role === "anyone") leaveToSignIn();
  } catch (error) {
    console.info("who asks is not known", error);
  }
}

const AHEAD = "wormtub.ahead";
const STEPPED_MS = 2000;
let ahead_ms = known();

/** As far as the page before this one knew. */
function known() {
  try {
    return Number(sessionStorage.getItem(AHEAD) ?? -Infinity);
  } catch {
    return -Infinity; // storage is shut, or there is none
  }
}

/**
 * An answer is dated in whole seconds, so the furthest ahead is the nearest; what a person enters
 * then never seems to be before what was entered before it. A clock that was set begins anew.
 * @param {number} found_ms
 */
function learnAhead(found_ms) {
  if (found_ms <= ahead_ms && found_ms > ahead_ms - STEPPED_MS) return;
  ahead_ms = found_ms;
  try {
    sessionStorage.setItem(AHEAD, String(found_ms));
  } catch {
    // The next page learns it anew.
  }
}

/** Now by the service's clock, as far as its answers tell; never ahead of it. */
export function serviceNow() {
  return Date.now() + (Number.isFinite(ahead_ms) ? ahead_ms : 0);
}

/**
 * @param {Response} answer
 * @returns {Promise<any>}
 */
async function read(answer) {
  const dated = Date.parse(answer.headers.get("date") ?? "");
  if (Number.isFinite(dated)) learnAhead(dated - Date.now());
  const body = answer.status === 204 ? null : await answer.json();
  const as_of = answer.headers.get(AS_OF);
  if (as_of && body) old.set(body, Number(as_of));
  if (answer.ok) return body;
  const { sentence, kind, field, now } = body.error;
  if (kind === "sign_in") leaveToSignIn();
  throw new Refusal(sentence, kind, field ?? null, answer.status, now ?? null);
}
