// The record on the live page: what is known of the runs, laid together with what waits here, and
// shown on the sheet and under the thumb.

import "../shared/texts.js";
import "./texts.js";
import { asOf, get } from "../shared/api.js";
import { timeToSecond } from "../shared/clock.js";
import { find, make, on, setAttributes } from "../shared/dom.js";
import { problemText } from "../shared/entry.js";
import { openWaiting } from "../shared/waiting.js";
import { say } from "../texts.js";
import { mountChecklist } from "./checklist.js";
import { mountKeys } from "./keys.js";
import { makeMarkForm } from "./mark_form.js";
import { measuredText, stripFor } from "./measuring.js";
import { openToMend, sentence } from "./mending.js";
import { mountPanel } from "./panel.js";
import { makePlain } from "./plain.js";
import { mountRibbon } from "./ribbon.js";
import { fitting, lastClosed, merged, nextNumber, openJar, overlaid } from "./run.js";
import { mountWaiting } from "./waiting_list.js";
import { canMend, changeJar, changeMark, nextJar, placeMark, takeBack, tickLine, withdraw } from "./wishes.js";

const RETRY_MS = 5000;
const UNDO_MS = 15 * 60_000;
const NEAR_PX = 12; // a tap so near a mark means the mark

/** @typedef {import("../now/sheet.js").Told} Told */
/** @typedef {import("../shared/queue.js").Waiting} Waiting */

/**
 * @param {object} house
 * @param {HTMLElement} house.root
 * @param {HTMLElement} house.sheet
 * @param {() => number} house.moment now, by the service's clock
 * @param {Promise<{runs: NowRun[]} | null>} house.first what stands, asked for while this was on its way
 */
export async function mountRecord(house) {
  const live = new LiveRecord(house);
  await live.begin(house.first);
  return live;
}

class LiveRecord {
  /** @type {NowRun[]} */
  known = [];
  /** @type {readonly Waiting[]} */
  entries = [];
  /** @type {Told | null} */
  told = null;
  /** @type {string | null} */
  picked = null;
  /** What was entered last, while it can be taken back. @type {{entry: Waiting, said: string} | null} */
  last = null;
  /** The jar measured last. @type {string | null} */
  measured = null;
  /** @type {ReturnType<typeof stripFor> | null} */
  strip = null;
  /** Of the run under the thumb, before anything comes over. @type {import("./checklist.js").Checklist | null} */
  checklist = null;
  old = false;
  shown = false;
  asked = 0;
  retry = 0;

  /** @param {{root: HTMLElement, sheet: HTMLElement, moment: () => number}} house */
  constructor({ root, sheet, moment }) {
    this.root = root;
    this.sheet = sheet;
    this.moment = moment;
    const waiting = make("div", { hidden: true });
    setAttributes(root, { "aria-label": say("run.label") });
    const checks = make("div", { hidden: true });
    root.append(waiting, checks);
    this.showChecklist = mountChecklist(checks, (key) => void this.tick(key));
    this.panel = mountPanel(root, {
      mark: (kind) => void this.mark(kind, "tap"),
      jar: () => void this.jar(),
      undo: () => void this.undo(),
      measure: () => this.measure(null),
      write: (kind) => this.write(kind, this.moment()),
      pick: (id) => this.pick(id),
      propose: (proposal, kept) => void this.propose(proposal, kept),
    });
    this.showWaiting = mountWaiting(waiting, () => this.waiting(), () => this.zone, (entry) => void this.mend(entry), canMend);
    root.append(makePlain());
    this.showRibbon = mountRibbon(sheet);
    this.listen();
  }

  get zone() {
    return this.told?.zone ?? "UTC";
  }

  /** @returns {import("../shared/waiting.js").WaitingQueue} */
  waiting() {
    if (!this.queue) throw new Error("the record is used before it is open");
    return this.queue;
  }

  /** @param {Promise<{runs: NowRun[]} | null>} first */
  async begin(first) {
    /** @type {import("../shared/waiting.js").WaitingQueue | undefined} */
    this.queue = undefined;
    this.queue = await openWaiting({
      changed: (entries, held) => {
        this.entries = entries;
        if (this.queue) this.showWaiting(entries, held);
        this.show();
      },
      taken: (entry, record) => this.took(entry, record),
    });
    this.showWaiting(this.queue.entries, this.queue.held);
    await this.load(first);
  }

  listen() {
    on(this.root, "state", (/** @type {Told} */ told) => {
      const back = told.state.link.phase === "open" && this.told?.state.link.phase === "lost";
      this.told = told;
      this.show();
      if (back) void this.load();
      if (back) this.queue?.wake();
    });
    on(this.root, "record", () => void this.load());
    on(this.sheet, "tap", (/** @type {{at: number}} */ { at }) => this.tapped(at));
    on(this.sheet, "mark", (/** @type {{id: string}} */ { id }) => this.edit(id));
    on(this.sheet, "jar", (/** @type {{id: string}} */ { id }) => this.measure(id));
    mountKeys(() => (this.run ? { big: () => void this.big(), mark: (kind) => this.key(kind), undo: () => void this.undo() } : null));
  }

  /** @param {Promise<{runs: NowRun[]} | null> | null} [asked] asked for already */
  async load(asked = null) {
    const mine = (this.asked += 1);
    clearTimeout(this.retry);
    try {
      /** @type {{runs: NowRun[]}} */
      const now = (await asked) ?? (await get("record/now"));
      if (mine !== this.asked) return;
      this.known = now.runs;
      this.old = asOf(now) !== null;
      void this.loadChecklist();
      if (this.old) this.retry = window.setTimeout(() => void this.load(), RETRY_MS);
    } catch (error) {
      console.info("the record does not load; trying again", error);
      if (mine !== this.asked) return;
      this.old = this.known.length > 0;
      this.retry = window.setTimeout(() => void this.load(), RETRY_MS);
    }
    this.show();
  }

  /** What to see to before the heat goes on; it is of use until something comes over. */
  async loadChecklist() {
    const { run } = this;
    const wanted = run && run.fitting_mark === "first_drop" ? run.id : null;
    try {
      const found = wanted ? await get(`runs/${wanted}/checklist`) : null;
      if (this.run?.id === run?.id) this.checklist = found;
    } catch (error) {
      console.info("the checklist does not load; what is known of it stays", error);
    }
    this.show();
  }

  /** @param {string} key */
  async tick(key) {
    const { run } = this;
    const label = this.checklist?.checks.find((check) => check.key === key)?.label ?? key;
    if (run) await this.waiting().add(tickLine(run, key, label));
  }

  /** The service has an entry: what it made of it is shown at once, what follows from it is asked for. @param {Waiting} entry @param {Record<string, any> | null} record */
  took(entry, record) {
    this.known = this.known.map((run) => (run.id === entry.scope ? merged(run, entry, record) : run));
    if (entry.kind === "jar" && record && entry.method === "PUT") this.measured = entry.subject;
    void this.load();
  }

  /** The runs as they stand with what waits. */
  get runs() {
    const vessel = this.told?.state.vessel;
    const all = this.known.map((run) => overlaid(run, this.entries));
    const there = all.filter((run) => vessel === undefined || run.vessel === vessel);
    return there.length > 0 ? there : all;
  }

  /** @returns {NowRun | null} */
  get run() {
    const runs = this.runs;
    return runs.find(({ id }) => id === this.picked) ?? runs[0] ?? null;
  }

  show() {
    const { told, run } = this;
    this.root.hidden = run === null && this.entries.length === 0;
    document.body.classList.toggle("recording", !this.root.hidden);
    this.root.classList.toggle("idle", run === null);
    if (!told || !run) return void (told && this.showRibbon([], told.state.view, told.state.now_ms, told.zone));
    this.showRibbon(this.runs, told.state.view, told.state.now_ms, told.zone);
    if (this.strip?.jar.run_id === run.id) this.strip.offer(run.liquid_temperature_c);
    const before = this.checklist?.run_id === run.id && this.fits(run) === "first_drop" && this.panel.doing.childElementCount === 0;
    this.showChecklist(before ? this.checklist : null, new Set(this.entries.filter(({ kind, scope }) => kind === "tick" && scope === run.id).map(({ body }) => body.key)));
    this.panel.show({
      run, runs: this.runs, fitting: this.fits(run), open: openJar(run.jars), closed: lastClosed(run.jars),
      next: nextNumber(run.jars, run.next_number), last: this.undoable, measured: measuredText(run, this.measured),
      now_ms: told.state.now_ms, zone: told.zone, old: this.old,
    });
    if (!this.shown) performance.mark("record");
    this.shown = true;
  }

  /** The service's word, unless marks wait here that it does not know of. @param {NowRun} run */
  fits(run) {
    const waits = this.entries.some(({ kind, scope }) => kind === "mark" && scope === run.id);
    return waits ? fitting(run.marks, run.purpose) : run.fitting_mark;
  }

  /** What was done last, as long as it can be taken back by one press. */
  get undoable() {
    const { last } = this;
    return last && Date.now() - last.entry.made_ms < UNDO_MS ? { said: last.said, subject: last.entry.subject } : null;
  }

  /** What the moment asks for most: the next jar, or, before anything comes over, the first drop. */
  async big() {
    const { run } = this;
    if (!run) return;
    if (this.fits(run) === "first_drop") await this.mark("first_drop", "key");
    else await this.jar();
  }

  /** @param {MarkKind} kind */
  key(kind) {
    if (kind === "power" || kind === "note") this.write(kind, this.moment());
    else void this.mark(kind, "key");
  }

  /** One press, one mark. @param {MarkKind} kind @param {string} source */
  async mark(kind, source) {
    const { run } = this;
    if (!run) return;
    const at = new Date(this.moment()).toISOString();
    await this.enter(placeMark(run, { kind, at, power_kw: null, text: "", smell: [], source }, this.said(kind, at)), this.said(kind, at));
  }

  /** @param {MarkKind} kind @param {string} at */
  said(kind, at) {
    return say("mark.placed", { mark: say(`mark.${kind}`), time: timeToSecond(Date.parse(at), this.zone) });
  }

  /** @param {import("../shared/waiting.js").Wish} wish @param {string} said */
  async enter(wish, said) {
    const entry = await this.waiting().add(wish);
    this.last = { entry, said };
    this.show();
  }

  /** Close the jar under the spout and put the next there; the closed one is offered for measuring. */
  async jar() {
    const { run } = this;
    if (!run || run.purpose === "cleaning") return;
    const at = new Date(this.moment()).toISOString();
    const number = nextNumber(run.jars, run.next_number);
    const closing = openJar(run.jars);
    const said = say("jar.begun", { number, time: timeToSecond(Date.parse(at), this.zone) });
    await this.enter(nextJar(run, number, at, said), said);
    if (closing) this.measure(closing.id);
  }

  async undo() {
    const { last } = this;
    if (!last || !this.undoable) return;
    this.last = null;
    this.close();
    await this.waiting().undo(last.entry, takeBack(last.entry, say("run.undone", { what: last.said })));
    if (last.entry.body.source === "refused") void this.load(); // what was not sent yet is proposed again
    this.show();
  }

  /** A jar's volume and strength: the one asked for, else the one closed last. @param {string | null} id */
  measure(id) {
    const { run, told } = this;
    const jar = run && (id ? run.jars.find((each) => each.id === id) : lastClosed(run.jars) ?? openJar(run.jars));
    if (!run || !jar || !told) return;
    const said = say("jar.measured", { number: jar.number });
    this.strip = stripFor(run, jar, {
      unit: told.unit, offers: true,
      keep: (measured) => {
        this.close();
        void this.enter(changeJar(jar, measured, said), said);
      },
      leave: () => this.close(),
    });
    this.open(this.strip.root);
  }

  /** @param {MarkKind} kind @param {number} at_ms */
  write(kind, at_ms) {
    this.form({ kind, at: new Date(at_ms).toISOString(), power_kw: null, text: "", smell: [] }, null);
  }

  /** @param {string} id */
  edit(id) {
    const mark = this.run?.marks.find((each) => each.id === id);
    if (mark) this.form(mark, mark);
  }

  /** @param {import("./mark_form.js").Saying} start @param {MarkRecord | null} mark the one to change */
  form(start, mark) {
    const { run } = this;
    if (!run) return;
    this.open(makeMarkForm({
      start, known: mark !== null, zone: this.zone, latest: this.moment,
      offered: [...run.marks, ...run.jars].flatMap(({ smell }) => smell ?? []),
      place: (saying) => {
        const said = this.said(saying.kind, saying.at);
        this.close(); // from the version it was opened at: what another changed since is told
        void this.enter(mark ? changeMark(mark, saying, said) : placeMark(run, { ...saying, source: "tap" }, said), said);
      },
      leave: () => this.close(),
      remove: mark && (() => {
        const said = say("run.undone", { what: this.said(mark.kind, mark.at) });
        this.close();
        void this.enter(withdraw(mark, "mark", said), said);
      }),
    }));
  }

  /** @param {number} fraction of the sheet's width */
  tapped(fraction) {
    const { run, told } = this;
    if (!run || !told) return;
    const { from_ms, to_ms } = told.state.view;
    const at_ms = Math.min(from_ms + fraction * (to_ms - from_ms), this.moment());
    const near_ms = (NEAR_PX / find(this.sheet, ".hand").clientWidth) * (to_ms - from_ms);
    const near = run.marks.filter(({ at }) => Math.abs(Date.parse(at) - at_ms) < near_ms)[0];
    if (near) return this.edit(near.id);
    if (at_ms < Date.parse(run.started_at)) return;
    this.write(this.fits(run) ?? "note", at_ms);
  }

  /** @param {Proposal} proposal @param {boolean} kept */
  async propose(proposal, kept) {
    const { run } = this;
    if (!run) return;
    const said = kept ? this.said(proposal.kind, proposal.at) : say("proposal.refused", { mark: say(`mark.${proposal.kind}`), time: timeToSecond(Date.parse(proposal.at), this.zone) });
    const source = kept ? "proposal" : "refused"; // what was refused is kept as such, and not proposed again
    await this.enter(placeMark(run, { kind: proposal.kind, at: proposal.at, power_kw: proposal.power_kw ?? null, text: "", smell: [], source }, said), said);
    this.known = this.known.map((each) => (each.id === run.id ? { ...each, proposals: each.proposals.filter((one) => one !== proposal) } : each));
    this.show();
  }

  /** What the service refused, opened for mending; its run may be over. @param {Waiting} entry */
  async mend(entry) {
    let run;
    try {
      run = await this.runOf(entry);
    } catch (error) {
      return this.open(sentence(problemText(error)));
    }
    const keep = (/** @type {Record<string, any>} */ body) => {
      this.close();
      void this.waiting().mend(entry.id, body);
    };
    const { root, strip } = openToMend(entry, run, { unit: this.told?.unit ?? "C", zone: this.zone, latest: this.moment, keep, leave: () => this.close() });
    this.strip = strip;
    this.open(root);
  }

  /** @param {Waiting} entry @returns {Promise<NowRun>} */
  async runOf({ scope }) {
    return this.runs.find(({ id }) => id === scope) ?? overlaid(await get(`runs/${scope}`), this.entries);
  }

  /** @param {string} id */
  pick(id) {
    this.picked = id;
    this.close();
    void this.loadChecklist();
  }

  /** @param {HTMLElement} sheetlet */
  open(sheetlet) {
    if (this.strip?.root !== sheetlet) this.strip = null;
    this.panel.doing.replaceChildren(sheetlet);
    this.show();
  }

  close() {
    this.strip = null;
    this.panel.doing.replaceChildren();
    this.show();
  }
}
