// What stands now, most urgent first: each alarm with its number, what to do first, why it comes
// and what follows, and the presses: seen, laid aside for a time, out of service.

import { send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { keepList, make, setText } from "../shared/dom.js";
import { deedFor, makeEntry, pressFor } from "../shared/entry.js";
import { calls, isKnown, isOpen, isOver, ordered } from "../banner/order.js";
import { shapeOf } from "../banner/shape.js";
import { numberParts, whereOf } from "../banner/tell.js";
import { woven } from "../shared/page.js";
import { say } from "../texts.js";
import { span } from "./spans.js";

/** @typedef {import("../shared/page.js").Ground} PageGround */
/** `take`: what the service answers is what stands. @typedef {{ground: () => PageGround, take: (body: AlarmsNow) => void}} Means */

const SHELF_MIN = [10, 30, 60, 240, 720];
const GROUPS = /** @type {const} */ ([["calling", calls], ["known", isKnown], ["hidden", (/** @type {Alarm} */ one) => !isOpen(one)]]);

/** @param {Means} means */
export function makeStanding(means) {
  const groups = GROUPS.map(([key, belongs]) => {
    const list = make("ul", { class: "wire standing" });
    const root = make("section", { hidden: true }, make("h2", {}, say(`alarms.group.${key}`)), list);
    return { root, list, belongs };
  });
  const root = make("div", {}, ...groups.map((group) => group.root));

  /** @param {AlarmsNow} body */
  function show({ now, aside }) {
    const all = ordered([...now, ...aside]);
    for (const { root: section, list, belongs } of groups) {
      const own = all.filter(belongs);
      section.hidden = own.length === 0;
      keepList(list, own, ({ key }) => key, () => makeItem(means), fillItem);
    }
  }

  /** @param {Element} item @param {Alarm} alarm */
  function fillItem(item, alarm) {
    item.dispatchEvent(new CustomEvent("alarm", { detail: alarm }));
  }

  return { root, show };
}

/** @param {Means} means */
function makeItem(means) {
  const what = make("h3", { class: "what" });
  const number = make("p", { class: "number" });
  const action = make("p", { class: "action" });
  const story = make("p", { class: "story" });
  const why = make("dl", { class: "facts" });
  const deeds = make("div", { class: "deeds" });
  const doing = make("div", { class: "doing" });
  const item = make("li", {}, what, number, action, story, deeds, doing, why);
  let drawn = "";
  /** @type {Alarm} */
  let alarm;

  /** @param {HTMLElement | null} form */
  function put(form) {
    doing.replaceChildren(...(form ? [form] : []));
    const first = form?.querySelector("input, select");
    if (first instanceof HTMLElement) first.focus();
  }

  /** @param {string} path @param {object} [body] */
  async function post(path, body = {}) {
    means.take(/** @type {AlarmsNow} */ (await send("POST", `alarms/${encodeURIComponent(alarm.key)}/${path}`, {}, body)));
    put(null);
  }

  function presses() {
    if (!isOpen(alarm)) return alarm.covers.flatMap((cover) => (BACK[cover] ? [deedFor(say(`alarms.back.${BACK[cover]}`), () => post(/** @type {string} */ (BACK[cover])))] : []));
    const seen = calls(alarm) ? [deedFor(say("alarm.acknowledge"), () => post("acknowledge"), "main"), pressFor(say("alarm.note"), () => put(noteForm()), "quiet")] : [];
    const reset = alarm.state === "latched" ? [deedFor(say("alarms.do.reset"), () => post("reset"), "main")] : [];
    return [...seen, ...reset, pressFor(say("alarms.do.shelve"), () => put(shelfForm()), "quiet"), pressFor(say("alarms.do.out"), () => put(outForm()), "quiet")];
  }

  const form = (/** @type {string} */ key, /** @type {import("../shared/entry.js").Field[]} */ fields, /** @type {string} */ submit, /** @type {(values: import("../shared/entry.js").Entered) => Promise<unknown>} */ act, /** @type {string} */ lead = "") =>
    makeEntry({ key: `${key}-${alarm.key}`, fields, submit: say(submit), zone: means.ground().zone, act, cancel: () => put(null), lead: lead ? [make("p", { class: "hint" }, say(lead))] : [] });

  const noteForm = () => form("note", [{ name: "note", label: say("alarm.note.label"), optional: true }], "alarm.acknowledge", ({ note }) => post("acknowledge", note ? { note } : {}));

  function shelfForm() {
    const choices = SHELF_MIN.filter((minutes) => minutes <= alarm.longest_shelf_min).map((minutes) => /** @type {[string, string]} */ ([String(minutes), span(minutes * 60)]));
    return form("shelve", [
      { name: "minutes", label: say("alarms.shelve.minutes"), kind: "choice", choices: [...choices, ["once", say("alarms.shelve.once")]] },
      { name: "why", label: say("alarms.why"), hint: say("alarms.why.hint") },
    ], "alarms.do.shelve", ({ minutes, why: reason }) => post("shelve", minutes === "once" ? { once: true, why: reason } : { minutes: Number(minutes), why: reason }), "alarms.shelve.lead");
  }

  const outForm = () => form("out", [{ name: "why", label: say("alarms.why"), hint: say("alarms.why.hint") }], "alarms.do.out", ({ why: reason }) => post("out-of-service", { why: reason }), "alarms.out.lead");

  item.addEventListener("alarm", (event) => {
    alarm = /** @type {CustomEvent<Alarm>} */ (event).detail;
    const { zone, unit } = means.ground();
    const ground = { zone, unit, now_ms: Date.now() };
    item.className = isOpen(alarm) ? (calls(alarm) ? "calling" : "known") : "free";
    if (what.dataset.priority !== alarm.priority + alarm.name) {
      what.dataset.priority = alarm.priority + alarm.name;
      what.replaceChildren(shapeOf(alarm.priority), make("span", { class: "priority" }, say(`alarm.priority.${alarm.priority}`)), make("strong", {}, alarm.name), make("span", { class: "where" }, whereOf(alarm)));
    }
    const said = numberParts(alarm, ground);
    if (number.textContent !== said.map(({ text }) => text).join("")) number.replaceChildren(...woven(said));
    setText(action, alarm.first_action);
    setText(story, storyOf(alarm, ground));
    const now = JSON.stringify([alarm.state, alarm.covers]);
    if (now === drawn) return;
    drawn = now;
    deeds.replaceChildren(...presses());
    why.replaceChildren(...facts(alarm));
  });
  return item;
}

/** @type {Record<string, string>} the way out from under each cover that a person laid on */
const BACK = { shelved: "unshelve", shelved_once: "unshelve", out_of_service: "in-service" };

/** @param {Alarm} alarm */
function facts({ cause, consequence, time_to_act_s }) {
  const all = [["cause", cause], ["consequence", consequence], ["time", span(time_to_act_s)]];
  return all.filter(([, text]) => text).flatMap(([key, text]) => [make("dt", {}, say(`alarms.fact.${key}`)), make("dd", {}, text ?? "")]);
}

/** @param {string} cover @param {string | null} time until when it lies on a shelf @returns {[string, Record<string, string>]} */
function coverWords(cover, time) {
  return time && cover.startsWith("shelved") ? [`alarms.cover.${cover}.until`, { time }] : [`alarms.cover.${cover}`, {}];
}

/** Since when, and who has done what about it. @param {Alarm} alarm @param {import("../banner/tell.js").Ground} ground */
function storyOf(alarm, { now_ms, zone }) {
  const time = (/** @type {string} */ at) => saidTime(Date.parse(at), now_ms, zone);
  const since = alarm.since === null ? "" : say(isOver(alarm) ? "alarms.over" : alarm.state === "normal" ? "alarms.was" : "alarm.since", { time: time(alarm.since) });
  const seen = alarm.acknowledged_by ? say("alarm.known", { who: alarm.acknowledged_by }) : "";
  const covers = alarm.covers.map((cover) => say(...coverWords(cover, alarm.shelved_until && time(alarm.shelved_until))));
  return [since, seen, ...covers].filter(Boolean).join(" · ");
}
