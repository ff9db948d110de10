// How loud the system has been over thirty days, beside what a person can bear: an alarm in ten
// minutes is acceptable, two are the most that can be handled.

import { get } from "../shared/api.js";
import { day, saidTime } from "../shared/clock.js";
import { make, makeSvg, setText } from "../shared/dom.js";
import { problemText } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { shapeOf } from "../banner/shape.js";
import { parts, say } from "../texts.js";
import { shares, tellLoudness } from "./measured.js";
import { span } from "./spans.js";

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
    setText(rests, say("loud.rests"));
    const { zone } = means.ground();
    const time = (/** @type {string} */ at) => saidTime(Date.parse(at), Date.now(), zone);
    room.replaceChildren(
      part("days", [daysTable(found, zone)]),
      part("frequent", rows(found.most_frequent.map((one) => [one, say("loud.times", { count: one.count })]))),
      part("floods", found.floods.map((one) => make("li", {}, say("loud.flood", { from: time(one.from_at), to: time(one.to_at), count: one.count })))),
      part("chattering", rows(found.chattering.map((one) => [one, say("loud.chattered", { count: one.count })]))),
      part("standing", rows(found.standing.map((one) => [one, say("loud.stands", { age: span((Date.now() - Date.parse(one.since)) / 1000) })]))),
      part("priorities", shares(found.priorities).map(({ priority, share, usual }) => make("li", {}, shapeOf(priority), " ", say("loud.share", { priority: say(`alarm.priority.${priority}`), share, usual })))),
    );
  }

  void load();
  return { root, fresh: () => void load() };
}

/** @param {string} key @param {readonly HTMLElement[]} items */
function part(key, items) {
  const [first] = items;
  const body = !first ? make("p", { class: "hint" }, say(`loud.${key}.none`)) : first instanceof HTMLLIElement ? make("ul", { class: "lines" }, ...items) : first;
  return make("section", {}, make("h2", {}, say(`loud.${key}`)), body);
}

/** @param {readonly (readonly [{name: string, where: string, priority: AlarmPriority}, string])[]} all */
function rows(all) {
  return all.map(([{ name, where, priority }, text]) => make("li", {}, shapeOf(priority), " ", make("strong", {}, name), " ", make("span", { class: "where" }, where), " · ", text));
}

/** A line a day: what came up, and the most within ten minutes. @param {AlarmLoudness} found @param {string} zone */
function daysTable({ days }, zone) {
  const most = Math.max(1, ...days.map(({ count }) => count));
  const head = make("tr", {}, ...["day", "count", "peak"].map((key) => make("th", { scope: "col" }, say(`loud.table.${key}`))));
  const body = days.map(({ date, count, peak_10_min }) => make("tr", {}, make("th", { scope: "row" }, day(Date.parse(`${date}T12:00:00Z`), zone)), make("td", {}, bar(count / most), String(count)), make("td", {}, String(peak_10_min))));
  return make("table", { class: "days" }, make("caption", { class: "unseen" }, say("loud.days")), make("thead", {}, head), make("tbody", {}, ...body));
}

/** @param {number} share */
function bar(share) {
  const picture = makeSvg("svg", { class: "bar", viewBox: "0 0 100 10", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(makeSvg("rect", { width: Math.round(share * 100), height: 10 }));
  return picture;
}
