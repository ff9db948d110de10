// The past: every change of every alarm, newest first, with filters. The address keeps them:
// #past/priority=high&days=7.

import { get } from "../shared/api.js";
import { day, timeToSecond } from "../shared/clock.js";
import { make, setText } from "../shared/dom.js";
import { pressFor, problemText } from "../shared/entry.js";
import { shapeOf } from "../banner/shape.js";
import { woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { queryOf, FILTERS, happened } from "./events.js";

const PAGE = 200;

/** @param {import("./standing.js").Means} means @param {string} about the filters, as the address has them */
export function pastPart(means, about) {
  const chosen = new URLSearchParams(about);
  const says = make("h1", { class: "says", "aria-live": "polite" }, say("past.loading"));
  const filters = make("div", { class: "filters" });
  const list = make("ol", { class: "past" });
  const trouble = make("p", { class: "trouble", role: "alert" });
  const more = pressFor(say("past.more"), () => void load(true));
  const root = make("section", {}, says, filters, trouble, list, more);
  more.hidden = true;
  /** @type {AlarmHappening[]} */
  let events = [];
  let asked = 0;

  for (const { name, values } of FILTERS) {
    const select = make("select", { id: `past-${name}`, name });
    for (const value of values) select.append(make("option", { value }, say(`past.${name}.${value || "all"}`)));
    filters.append(make("label", { for: `past-${name}` }, say(`past.${name}`), select));
    select.value = chosen.get(name) ?? values[0] ?? "";
    select.addEventListener("change", () => choose(name, select.value));
  }
  void addRules();

  /** Which rules there are is the service's to say. */
  async function addRules() {
    const select = make("select", { id: "past-rule", name: "rule" }, make("option", { value: "" }, say("past.rule.all")));
    filters.append(make("label", { for: "past-rule" }, say("past.rule"), select));
    select.addEventListener("change", () => choose("rule", select.value));
    try {
      const rules = /** @type {AlarmRule[]} */ (await get("alarms/rules"));
      for (const { rule, name } of rules) select.append(make("option", { value: rule }, name));
    } catch (error) {
      console.info("the rules are not there to choose from", error);
    }
    select.value = chosen.get("rule") ?? "";
  }

  /** @param {string} name @param {string} value */
  function choose(name, value) {
    if (value) chosen.set(name, value);
    else chosen.delete(name);
    history.replaceState(null, "", `#past/${chosen}`);
    void load(false);
  }

  /** @param {boolean} on older ones after those that are there */
  async function load(on) {
    const mine = (asked += 1);
    try {
      const before = on ? events.at(-1)?.number : undefined;
      const found = /** @type {AlarmHappening[]} */ (await get("alarms/history", { ...queryOf(chosen, Date.now(), before), limit: PAGE }));
      if (mine !== asked) return;
      setText(trouble, "");
      events = on ? [...events, ...found] : found;
      more.hidden = found.length < PAGE;
      draw(found.length === PAGE);
    } catch (error) {
      if (mine === asked) setText(trouble, problemText(error));
    }
  }

  /** @param {boolean} cut */
  function draw(cut) {
    const { zone, unit } = means.ground();
    const filtered = [...chosen.keys()].length > 0;
    says.replaceChildren(...woven(events.length === 0 ? parts(filtered ? "past.none.filtered" : "past.none") : parts(cut ? "past.says.more" : events.length === 1 ? "past.says.one" : "past.says", { count: events.length })));
    let last = "";
    list.replaceChildren(...events.flatMap((event) => {
      const at_ms = Date.parse(event.at);
      const date = day(at_ms, zone);
      const head = date === last ? [] : [make("li", { class: "day" }, date)];
      last = date;
      return [...head, make("li", {},
        make("time", { datetime: event.at }, timeToSecond(at_ms, zone)),
        event.priority === "event" ? make("span", {}) : shapeOf(event.priority),
        make("span", { class: "what" }, make("span", { class: "priority" }, say(event.priority === "event" ? "rules.event" : `alarm.priority.${event.priority}`)), " ", make("strong", {}, event.name), " ", make("span", { class: "where" }, event.where)),
        make("span", { class: "told" }, happened(event, { zone, unit, now_ms: Date.now() })))];
    }));
  }

  void load(false);
  return { root, fresh: () => draw(!more.hidden) };
}
