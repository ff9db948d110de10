// The probes page: the wire with every probe on it, and the tasks one does with a probe in hand.
// The address says which task is open: #warm, #swap/PLACE, #calibrate/PROBE, #bath.

import "../shared/texts.js";
import "./texts.js";
import { get } from "../shared/api.js";
import { find, make, setText } from "../shared/dom.js";
import { startPage, woven } from "../shared/page.js";
import { listen } from "../now/link.js";
import { say } from "../texts.js";
import { calibrateTask } from "./calibrate.js";
import { makeWire } from "./wire.js";
import { swapTask } from "./swap.js";
import { tellProbes } from "./tell.js";
import { warmTask } from "./warm.js";

/**
 * Everything the page knows, and how to know it afresh.
 * @typedef {object} Hands
 * @property {ProbeRecord[]} probes
 * @property {PlaceRecord[]} places
 * @property {VesselRecord[]} vessels
 * @property {PlacementRecord[]} placements
 * @property {Map<string, LivePlace>} live by probe id
 * @property {import("../shared/page.js").Ground} ground
 */

/** A task: what it shows, what it is told when something changed, and what ends it. @typedef {{root: HTMLElement, fresh: (hands: Hands) => void, end?: () => void}} Task */
/** @typedef {{hands: () => Hands, refresh: () => Promise<void>, leave: () => void}} Means */

const SLOW_MS = 15_000; // health and counts; temperatures come by themselves

const main = find(document, "#main");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = make("a", { class: "press main", href: "#warm" });
const others = make("p", { class: "others" });
const home = make("section", { class: "home" }, says, rests, press, others);
const room = make("section", { class: "task", hidden: true });

/** @type {Hands | null} */
let hands = null;
/** @type {Task | null} */
let task = null;
let heard = false;
let open = "";

/** @type {Means} */
const means = {
  hands: () => {
    if (!hands) throw new Error("the page is used before it is loaded");
    return hands;
  },
  refresh: () => refresh(),
  leave: () => {
    location.hash = "";
  },
};

const wire = makeWire(means);
home.append(wire.root);
main.append(home, room);

async function load() {
  const [probes, places, vessels, placements, live] = await Promise.all(
    ["probes", "places", "vessels", "placements", "live"].map((path) => get(path)),
  );
  if (!heard) {
    heard = true;
    listen(ears, live.event_id);
  }
  return { probes, places, vessels, placements, live: liveByProbe(live) };
}

/** @param {LiveState} live */
function liveByProbe({ places, unplaced }) {
  return new Map([...places, ...unplaced].flatMap((one) => (one.probe_id === null ? [] : [[one.probe_id, one]])));
}

const ears = {
  /** @param {ScanMessage} scan */
  scan({ readings }) {
    if (!hands) return;
    const by = new Map([...hands.live.values()].map((one) => [one.key, one]));
    for (const [key, value, grade, trend] of readings) {
      const one = by.get(key);
      if (one) Object.assign(one, { value, grade, trend_per_min: trend });
    }
    wire.values(hands);
    task?.fresh(hands);
  },
  again: () => void refresh(),
  open: () => {},
  lost: () => {},
};

/** @param {Omit<Hands, "ground">} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  hands = { ...loaded, ground };
  const { says: saying, rests: resting, next } = tellProbes(hands.probes);
  says.replaceChildren(...woven(saying));
  setText(rests, resting);
  press.hidden = next === "wait";
  press.href = next === "warm" ? "#warm" : "#calibrate";
  setText(press, say(`probes.press.${next === "warm" ? "warm" : "calibrate"}`));
  const tasks = next === "wait" ? [] : [next === "warm" ? to("#calibrate", "calibrate") : to("#warm", "warm"), to("#swap", "swap")];
  others.replaceChildren(
    ...tasks,
    make("a", { class: "quiet", href: "vessels.html" }, say("probes.to.vessels")),
    make("a", { class: "quiet", href: "guide.html" }, say("probes.to.guide")),
  );
  wire.show(hands);
  if (task) task.fresh(hands);
  go();
}

/** @param {string} href @param {string} key */
function to(href, key) {
  return make("a", { class: "quiet", href }, say(`probes.press.${key}`));
}

/** Open what the address names. */
function go() {
  if (!hands || location.hash === open) return;
  open = location.hash;
  task?.end?.();
  task = taskNamed(decodeURIComponent(open.slice(1)));
  home.hidden = task !== null;
  room.hidden = task === null;
  room.replaceChildren(...(task ? [back(), task.root] : []));
  document.title = `${task ? (task.root.querySelector("h1")?.textContent ?? "") : say("page.probes")} · ${say("app.name")}`;
  task?.fresh(hands);
  if (task) scrollTo(0, 0);
}

/** @param {string} name @returns {Task | null} */
function taskNamed(name) {
  const [kind, about = ""] = name.split("/");
  if (kind === "warm") return warmTask(means);
  if (kind === "swap") return swapTask(means, about);
  if (kind === "calibrate") return calibrateTask(means, about);
  return null;
}

function back() {
  return make("a", { class: "quiet back", href: "#" }, say("probes.back"));
}

addEventListener("hashchange", go);
const refresh = startPage("probes", load, show);
setInterval(() => document.hidden || void refresh(), SLOW_MS);
