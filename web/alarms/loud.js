// How loud the system has been over thirty days, beside what a person can bear: an alarm in ten
// minutes is acceptable, two are the most that can be handled.

import { get } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make, makeSvg, setText } from "../shared/dom.js";
import { problemText } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { shapeOf } from "../banner/shape.js";
import { parts, say } from "../texts.js";
import { tellLoudness } from "./measured.js";

const PRIORITIES = /** @type {const} */ (["high", "medium", "low"]);

/** @param {import("./standing.js").Means} means */
export function loudPart(means) {
  const says = make("h1", { class: "says" }, say("past.loading"));
  const rests = make("p", { class: "rests" });
  const trouble = make("p", { class: "trouble", role: "alert" });
  const room = make("div", { class: "loud" });
  const root = make("section", {}, says, rests, trouble, room);

  async function load() {
    try {
      show(/** @type {AlarmLoudness} */ (await get("alarms/loudness")));
      setText(trouble, "");
    } catch (error) {
      setText(trouble, problemText(error));
    }
  }

  /** @param {AlarmLoudness} found */
  function show(found) {
    says.replaceChildren(...woven(parts(...tellLoudness(found))));
    setText(rests, say("loud.rests", { acceptable: found.acceptable_per_10_min, most: found.manageable_per_10_min }));
    const { zone } = means.ground();
    const time = (/** @type {string} */ at) => saidTime(Date.parse(at), Date.now(), zone);
    room.replaceChildren(
      part("frequent", bars(found.most_frequent)),
      part("floods", found.floods.map((one) => make("li", {}, say("loud.flood", { from: time(one.began_at), to: time(one.ended_at), count: one.alarms })))),
      part("chattering", rows(found.chattering, "loud.chattered")),
      part("standing", rows(found.standing_over_24_h, "loud.stood")),
      part("priorities", found.alarms === 0 ? [] : PRIORITIES.map((one) => make("li", {}, shapeOf(one), " ", say("loud.share", { priority: say(`alarm.priority.${one}`), share: Math.round(found.share_percent[one]), usual: Math.round(found.target_percent[one]) })))),
    );
  }

  void load();
  return { root, fresh: () => void load() };
}

/** @param {string} key @param {readonly HTMLElement[]} items */
function part(key, items) {
  const body = items.length === 0 ? make("p", { class: "hint" }, say(`loud.${key}.none`)) : make("ul", { class: "lines" }, ...items);
  return make("section", {}, make("h2", {}, say(`loud.${key}`)), body);
}

/** @param {readonly BusyAlarm[]} all @param {"loud.times" | "loud.chattered" | "loud.stood"} key */
function rows(all, key) {
  return all.map((one) => make("li", {}, nameOf(one), " · ", say(key, { count: one.times })));
}

/** The most frequent ones, each as long as it was often. @param {readonly BusyAlarm[]} all */
function bars(all) {
  const most = Math.max(1, ...all.map(({ times }) => times));
  return all.map((one) => make("li", {}, nameOf(one), make("span", { class: "often" }, bar(one.times / most), say(one.times === 1 ? "loud.times.one" : "loud.times", { count: one.times }))));
}

/** @param {BusyAlarm} alarm */
function nameOf({ rule, name, where }) {
  return make("a", { href: `#rules/${rule}` }, [name, where].filter(Boolean).join(", "));
}

/** @param {number} share */
function bar(share) {
  const picture = makeSvg("svg", { class: "bar", viewBox: "0 0 100 10", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(makeSvg("rect", { width: Math.max(1, Math.round(share * 100)), height: 10 }));
  return picture;
}
