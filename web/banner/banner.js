// The top of every page while an alarm stands: what, where, the number and its limit, what to do
// first, and that it has been seen. It changes only when the record does. It stands in the page's
// flow and covers nothing; without an alarm it is nothing.

import "./texts.js";
import { isListening, listen } from "../now/link.js";
import { get, Refusal, send } from "../shared/api.js";
import { saidTime, timeToSecond } from "../shared/clock.js";
import { keepList, make, on, setText } from "../shared/dom.js";
import { look } from "../shared/look.js";
import { say } from "../texts.js";
import { makeBell } from "./bell.js";
import { makeCall } from "./call.js";
import { newlyCalling, nowQuiet, shown } from "./order.js";
import { notify, unsay } from "./notify.js";
import { shapeOf } from "./shape.js";
import { followPresses, soundFor } from "./sound.js";
import { numberText, spokenText, titleOf, whereOf } from "./tell.js";
import { keepTitlePrefix, setTitlePrefix } from "./title.js";

/** @typedef {import("./tell.js").Ground} Ground */

const RETRY_MS = 3000;
const PATIENCE_MS = 5000; // a line that is lost for less is not worth a word
const OWN_LINE_MS = 2500; // a page that listens by itself does so sooner

/**
 * @param {HTMLElement} header the banner stands before it
 * @param {{current: string, site: () => Site | null, slot: Element}} page the bell stands before the slot
 */
export function mountBanner(header, { current, site, slot }) {
  const call = makeCall({ acknowledge });
  const known = make("ul", { class: "known" });
  const lost = make("p", { class: "lost", role: "status", hidden: true });
  const root = make("section", { id: "banner", "aria-label": say("alarm.label"), hidden: true }, call.root, known, lost);
  const spoken = make("p", { class: "unseen", role: "alert" });
  header.before(root, spoken);
  slot.before(makeBell());

  /** @type {Alarm[] | null} */
  let alarms = null;
  let lost_ms = 0;
  let timer = 0;

  /** @returns {Ground} */
  function ground() {
    const chosen = look().unit;
    const zone = site()?.time_zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;
    return { zone, unit: chosen === "site" ? (site()?.temperature_unit ?? "C") : chosen, now_ms: Date.now() };
  }

  /** @param {AlarmsNow} body */
  function take(body) {
    const before = alarms ?? [];
    alarms = body.now;
    lost_ms = 0;
    for (const one of newlyCalling(before, alarms)) tellOf(one);
    for (const key of nowQuiet(before, alarms)) void unsay(key).catch(grumble);
    draw();
    document.documentElement.dataset.alarms = "known";
    document.dispatchEvent(new CustomEvent("alarmed", { detail: body }));
  }

  function draw() {
    const said = ground();
    const { top, more, known: seen, sound } = shown(alarms ?? []);
    call.show(top, more.length, said);
    keepList(known, seen.slice(0, top ? 0 : 2), ({ key }) => key, () => make("li"), (item, one) => fillKnown(item, one, said));
    const unknown = lost_ms > 0 && Date.now() - lost_ms > PATIENCE_MS && current !== "now"; // the live page says so itself
    setText(lost, unknown ? say("alarm.unknown", { time: timeToSecond(lost_ms, said.zone) }) : "");
    lost.hidden = !unknown;
    root.hidden = !top && known.childElementCount === 0 && lost.hidden;
    root.className = top ? top.priority : "";
    setText(spoken, top ? spokenText(top) : "");
    setTitlePrefix(top ? say("alarm.title", { priority: say(`alarm.priority.${top.priority}`), name: top.name }) : "");
    soundFor(sound);
  }

  /** @param {Alarm} one */
  function tellOf(one) {
    const looked = document.visibilityState === "visible" && document.hasFocus();
    if (looked && one.priority !== "high") return;
    const said = ground();
    const body = [whereOf(one), numberText(one, said), one.first_action].filter(Boolean).join(". ");
    const title = titleOf(one, site()?.simulated ?? false);
    void notify({ key: one.key, title, body, urgent: one.priority === "high" }).catch(grumble);
  }

  async function load() {
    clearTimeout(timer);
    try {
      take(await get("alarms"));
    } catch (error) {
      if (error instanceof Refusal) return grumble(error);
      lose();
      timer = window.setTimeout(load, RETRY_MS);
    }
  }

  function lose() {
    if (lost_ms === 0) setTimeout(draw, PATIENCE_MS + 50);
    lost_ms ||= Date.now();
    draw();
  }

  /** @param {string} key @param {string} note */
  async function acknowledge(key, note) {
    take(await send("POST", `alarms/${encodeURIComponent(key)}/acknowledge`, {}, { note }));
  }

  on(document, "alarms", take);
  on(document, "line", (/** @type {"open" | "lost"} */ phase) => (phase === "open" ? void load() : lose()));
  document.addEventListener("look", draw);
  document.addEventListener("hearing", draw);
  on(header, "site", draw);
  followPresses();
  keepTitlePrefix();
  void load();
  setTimeout(() => void ownLine(), OWN_LINE_MS);
}

/** A page that does not listen by itself hears of alarms over a line of the banner's own. */
async function ownLine() {
  if (isListening()) return;
  try {
    const { event_id } = await get("live");
    if (!isListening()) listen({ scan: () => {}, again: () => {}, open: () => {}, lost: () => {} }, event_id);
  } catch (error) {
    grumble(error);
    setTimeout(() => void ownLine(), RETRY_MS);
  }
}

/** @param {unknown} error */
function grumble(error) {
  console.info("of alarms", error);
}

/** @param {Element} item @param {Alarm} alarm @param {Ground} ground */
function fillKnown(item, alarm, ground) {
  const who = alarm.acknowledged_by ? say("alarm.known", { who: alarm.acknowledged_by }) : say("alarm.known.plain");
  const text = [whereOf(alarm), numberText(alarm, ground), say("alarm.since", { time: saidTime(Date.parse(alarm.since ?? ""), ground.now_ms, ground.zone) }), who].filter(Boolean).join(" · ");
  item.replaceChildren(shapeOf(alarm.priority), make("span", {}, make("strong", {}, alarm.name), " ", text), make("a", { href: new URL("../alarms.html", import.meta.url).href }, say("alarm.all")));
}
