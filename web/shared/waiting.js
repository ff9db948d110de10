// What a person enters goes through here: kept in this browser first, then sent in order while
// the service answers, and told to the page (and to other tabs) as it goes.

import { Refusal, send } from "./api.js";
import { openKeeping } from "./keeping.js";
import { after, insisted, inOrder, mended, nextOf, reached, readRefusal, undoing } from "./queue.js";
import { uuid7 } from "./uuid7.js";

const FIRST_WAIT_MS = 1500;
const LONGEST_WAIT_MS = 30_000;

/** @typedef {import("./queue.js").Waiting} Waiting */
/** @typedef {Pick<Waiting, "kind" | "method" | "path" | "body" | "label"> & {subject?: string, scope?: string | null, id?: string}} Wish */

/**
 * @typedef {object} Ears
 * @property {(entries: readonly Waiting[], held: string | null) => void} changed what waits, and what holds all of it up
 * @property {(entry: Waiting, record: Record<string, any> | null) => void} taken
 */

/** @param {Ears} ears @param {Promise<import("./keeping.js").Keeping>} [keeping] */
export async function openWaiting(ears, keeping = openKeeping()) {
  const queue = new Queue(ears, await keeping);
  await queue.look();
  addEventListener("online", () => queue.wake());
  addEventListener("pageshow", () => queue.wake());
  document.addEventListener("visibilitychange", () => document.hidden || queue.wake());
  void queue.flush();
  return queue;
}

class Queue {
  /** @type {Waiting[]} */
  entries = [];
  /** @type {string | null} */
  held = null;
  tab = uuid7();
  news = new BroadcastChannel("wormtub-waiting");
  wait_ms = FIRST_WAIT_MS;
  timer = 0;
  sending = false;
  /** From which version to which this page's own changes moved a record. @type {Map<string, number>} */
  moved = new Map();

  /** @param {Ears} ears @param {import("./keeping.js").Keeping} keeping */
  constructor(ears, keeping) {
    this.ears = ears;
    this.keeping = keeping;
    this.news.addEventListener("message", () => void this.look());
  }

  /** Whether what waits outlasts this tab. */
  get lasting() {
    return this.keeping.lasting;
  }

  /** What another tab, or this one before it was closed, has left. */
  async look() {
    await this.read();
    this.tell();
  }

  /** Once more where something was entered while it was read. */
  async read() {
    let before, found;
    do {
      before = this.entries;
      found = await this.keeping.all();
    } while (before !== this.entries);
    this.entries = inOrder(found);
  }

  /** Take an entry: kept before it is called so. @param {Wish} wish */
  async add(wish) {
    const id = wish.id ?? uuid7();
    /** @type {Waiting} */
    const entry = { id, subject: id, scope: null, made_ms: Date.now(), attempts: 0, trouble: null, ...wish, body: { id, ...wish.body } };
    if (entry.body.version !== undefined) entry.body.version = this.sinceMoved(entry.subject, entry.body.version);
    await this.keep([entry]);
    void this.flush();
    return entry;
  }

  /** The version a record has by this page's own changes, which it may not have loaded yet. @param {string} subject @param {number} version */
  sinceMoved(subject, version) {
    let now = version;
    for (let next = this.moved.get(`${subject} ${now}`); next !== undefined; next = this.moved.get(`${subject} ${now}`)) now = next;
    return now;
  }

  /** Take an entry back: not sent at all, or withdrawn after it. @param {Waiting} entry @param {Wish} withdrawal */
  async undo(entry, withdrawal) {
    if (undoing(this.entries, entry.id) === "follow" || this.under_way === entry.id) return void (await this.add(withdrawal));
    await this.drop(entry.id);
  }

  /** @param {string} id */
  async drop(id) {
    await this.keeping.drop(id);
    this.entries = this.entries.filter((entry) => entry.id !== id);
    this.tell();
    this.news.postMessage("changed");
    this.wake();
  }

  /** A refused entry, put right. @param {string} id @param {Record<string, any>} body */
  async mend(id, body) {
    await this.change(id, (entry) => mended(entry, body));
  }

  /** What another changed meanwhile is to become as entered here. @param {string} id */
  async insist(id) {
    await this.change(id, insisted);
  }

  /** @param {string} id @param {(entry: Waiting) => Waiting} how */
  async change(id, how) {
    const entry = this.entries.find((each) => each.id === id);
    if (entry) await this.keep([how(entry)]);
    this.wake();
  }

  /** @param {readonly Waiting[]} changed */
  async keep(changed) {
    await this.keeping.put(changed);
    const ids = new Set(changed.map(({ id }) => id));
    this.entries = inOrder([...this.entries.filter(({ id }) => !ids.has(id)), ...changed]);
    this.tell();
    this.news.postMessage("changed");
  }

  /** The service may answer again. */
  wake() {
    this.wait_ms = FIRST_WAIT_MS;
    void this.flush();
  }

  /** @type {string | null} the entry that is being sent */
  under_way = null;

  /** Send what can be sent, one after the other. */
  async flush() {
    clearTimeout(this.timer);
    if (this.sending) return;
    this.sending = true;
    try {
      await this.sendAll();
    } finally {
      this.sending = false;
      this.under_way = null;
    }
    if (nextOf(this.entries)) this.later();
  }

  async sendAll() {
    if (!nextOf(this.entries) || !(await this.keeping.lease(this.tab, Date.now()))) return;
    await this.read();
    for (let entry = nextOf(this.entries); entry; entry = nextOf(this.entries)) {
      this.under_way = entry.id;
      const outcome = await sent(entry);
      await this.settle(entry, outcome);
      if (outcome.kind === "silent" || outcome.kind === "held") break;
      this.wait_ms = FIRST_WAIT_MS;
      await this.keeping.lease(this.tab, Date.now());
    }
    await this.keeping.release(this.tab);
  }

  /** @param {Waiting} entry @param {import("./queue.js").Outcome} outcome */
  async settle(entry, outcome) {
    const before = this.entries;
    this.entries = after(before, entry.id, outcome);
    this.held = outcome.kind === "held" ? outcome.sentence : null;
    await this.keeping.put(this.entries.filter((each) => !before.includes(each)));
    if (outcome.kind === "taken") {
      const version = reached(entry, outcome.record);
      if (version !== undefined && entry.body.version < version) this.moved.set(`${entry.subject} ${entry.body.version}`, version);
      await this.keeping.drop(entry.id);
      this.ears.taken(entry, outcome.record);
    }
    this.under_way = null;
    this.tell();
    this.news.postMessage("changed");
  }

  later() {
    this.timer = window.setTimeout(() => void this.flush(), this.wait_ms);
    this.wait_ms = Math.min(LONGEST_WAIT_MS, this.wait_ms * 2);
  }

  tell() {
    this.ears.changed(this.entries, this.held);
  }
}

/** @typedef {Queue} WaitingQueue */

/** @param {Waiting} entry @returns {Promise<import("./queue.js").Outcome>} */
async function sent(entry) {
  try {
    return { kind: "taken", record: await send(entry.method, entry.path, {}, entry.body) };
  } catch (error) {
    if (!(error instanceof Refusal)) return { kind: "silent" };
    const { status, message, field, now } = error;
    return readRefusal({ status, sentence: message, field, now }, entry);
  }
}
