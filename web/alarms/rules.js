// The rules: each with its limit and what it rests on, and an editor that shows when a new limit
// would have sounded in past runs before it is saved. #rules lists them, #rules/NAME opens one.

import { get, send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make, setText } from "../shared/dom.js";
import { makeEntry, problemText } from "../shared/entry.js";
import { shapeOf } from "../banner/shape.js";
import { amount } from "../banner/amount.js";
import { woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { cautions } from "./cautions.js";
import { makeBacktest } from "./backtest.js";
import { chooser, hasChoice, letGo } from "./condensers.js";
import { cyclePart } from "./cycle.js";
import { span } from "./spans.js";
import { fromShown, signOf, toShown } from "./turned.js";

/** @param {import("./standing.js").Means} means @param {string} name of the rule that is open, or none; of one condenser alone NAME/ID */
export function rulesPart(means, name) {
  const room = make("div", {});
  const trouble = make("p", { class: "trouble", role: "alert" });
  const root = make("section", { class: "rules" }, trouble, room, cautions());

  async function load() {
    try {
      const rules = /** @type {AlarmRule[]} */ (await get("alarms/rules"));
      setText(trouble, "");
      const [wanted, whose] = name.split("/");
      const open = rules.find(({ rule }) => rule === wanted);
      const alone = open?.condensers.find(({ condenser_id }) => condenser_id === whose) ?? null;
      room.replaceChildren(...(open ? oneRule(open, alone, means, load) : allRules(rules, means, name, load)));
    } catch (error) {
      setText(trouble, problemText(error));
    }
  }

  void load();
  return { root, fresh: () => void load() };
}

/** @param {readonly AlarmRule[]} rules @param {import("./standing.js").Means} means @param {string} missing @param {() => Promise<void>} load */
function allRules(rules, means, missing, load) {
  const changed = rules.filter(({ version, condensers }) => version > 0 || condensers.some(({ own }) => own)).length;
  const list = make("ul", { class: "rulelist" }, ...rules.map((rule) => ruleLine(rule, means)));
  return [
    make("h1", { class: "says" }, ...woven(parts(missing ? "rules.missing" : "rules.says", { count: rules.length }))),
    make("p", { class: "rests" }, say(changed === 0 ? "rules.rests" : changed === 1 ? "rules.rests.changed.one" : "rules.rests.changed", { count: changed })),
    list,
    cyclePart(means.ground().zone, load),
  ];
}

/** @param {AlarmRule} rule @param {import("./standing.js").Means} means */
function ruleLine(rule, means) {
  return make("li", {}, make("a", { href: `#rules/${encodeURIComponent(rule.rule)}` },
    ...signs(rule),
    make("strong", { class: "name" }, rule.name),
    make("span", { class: "limit" }, limitText(rule, rule, means)),
    make("span", { class: "about" }, [stagesText(rule.stages), rule.version > 0 ? say("rules.changed") : "", ownText(rule), hereText(rule)].filter(Boolean).join(" · "))));
}

/** @param {AlarmRule} rule */
function signs({ priority }) {
  if (priority === null) return [make("span", { class: "priority" }, say("rules.event"))];
  return [shapeOf(priority), make("span", { class: "priority" }, say(`alarm.priority.${priority}`))];
}

/** "above 70.0 °C" @param {AlarmRule} rule @param {{limit: number}} limits @param {import("./standing.js").Means} means */
function limitText({ side, unit }, { limit }, means) {
  return say(`rules.side.${side}`, { limit: amount(limit, unit, means.ground().unit) });
}

/** How many condensers go by a limit of their own. @param {AlarmRule} rule */
function ownText({ condensers }) {
  const count = condensers.filter(({ own }) => own).length;
  return count > 0 ? say("rules.whose.some", { count }) : "";
}

/** Whether it can watch anything in this house, and where it cannot, why. @param {AlarmRule} rule */
function hereText({ alarms, not_known }) {
  if (alarms === 0) return say("rules.here.none");
  if (not_known === alarms) return say("rules.here.unknown");
  return not_known > 0 ? say("rules.here.some", { count: not_known, all: alarms }) : "";
}

/** @param {readonly string[] | null} stages */
function stagesText(stages) {
  if (stages === null) return say("rules.always");
  const any = stages.includes("run");
  return any ? say("rules.anyrun") : stages.map((one) => say(`stage.${one}`)).join(", ");
}

/** @param {AlarmRule} rule @param {AlarmCondenser | null} alone whose own limit is looked at @param {import("./standing.js").Means} means @param {() => Promise<void>} load @returns {Node[]} */
function oneRule(rule, alone, means, load) {
  const { unit } = means.ground();
  const held = alone ?? rule;
  const { root: tested, test, isTried } = makeBacktest(rule, means, alone?.condenser_id ?? null);
  const form = makeEntry({
    key: "rule",
    zone: means.ground().zone,
    fields: [
      { name: "limit", label: say("rules.limit"), kind: "number", unit: signOf(rule.unit, unit), value: toShown(held.limit, rule.unit, unit, false), hint: say("rules.limit.hint", { least: amount(rule.least, rule.unit, unit), most: amount(rule.most, rule.unit, unit), shipped: amount(rule.declared.limit, rule.unit, unit) }) },
      { name: "deadband", label: say("rules.deadband"), kind: "number", unit: signOf(rule.unit, unit), value: toShown(held.deadband, rule.unit, unit, true), hint: say("rules.deadband.hint") },
      { name: "on_delay_s", label: say("rules.on"), kind: "number", unit: "s", value: held.on_delay_s, hint: say("rules.on.hint") },
      { name: "off_delay_s", label: say("rules.off"), kind: "number", unit: "s", value: held.off_delay_s },
      { name: "reason", label: say("rules.reason"), hint: say("rules.reason.hint") },
    ],
    submit: say("rules.try"),
    again: () => void load(),
    act: async (values) => {
      if (!isTried(form)) return test(form);
      const turned = (/** @type {"limit" | "deadband"} */ name) => (typeof values[name] === "number" ? fromShown(values[name], rule.unit, unit, name === "deadband") : values[name]);
      await send("PUT", `alarms/rules/${encodeURIComponent(rule.rule)}`, {}, { ...values, limit: turned("limit"), deadband: turned("deadband"), reason: values.reason ?? "", version: held.version, condenser_id: alone?.condenser_id ?? null });
      await load();
    },
  });
  form.querySelector(".presses")?.before(tested);
  const press = form.querySelector(".presses button");
  const label = () => press && setText(press, say(isTried(form) ? "rules.save" : "rules.try"));
  form.addEventListener("input", label);
  tested.addEventListener("tried", label);
  return [
    make("h1", { class: "says rule" }, ...signs(rule), " ", make("strong", {}, rule.name), " ", limitText(rule, held, means)),
    make("p", { class: "rests" }, ...(alone ? woven(parts("rules.whose.alone", { name: alone.name, action: rule.first_action })) : [rule.first_action])),
    ...(hasChoice(rule) ? [chooser(rule, alone, (limits) => limitText(rule, limits, means))] : []),
    make("div", { class: "editing" }, make("div", {}, form, ...(alone?.own ? [letGo(rule, alone, load)] : [])), make("div", {}, factsOf(rule, held, means))),
    ...(rule.window_s > 0 ? [cyclePart(means.ground().zone, load)] : []),
  ];
}

/** @param {AlarmRule} rule @param {AlarmRule | AlarmCondenser} held whose limit is looked at @param {import("./standing.js").Means} means */
function factsOf(rule, held, means) {
  const { zone } = means.ground();
  const changed = held.version > 0 && held.changed_at ? say("rules.fact.changed.by", { who: held.who, time: saidTime(Date.parse(held.changed_at), Date.now(), zone), reason: held.reason }) : "";
  const all = [
    ["cause", rule.cause], ["consequence", rule.consequence], ["action", rule.first_action], ["time", span(rule.time_to_act_s)],
    ["stages", stagesText(rule.stages)], ["here", hereText(rule)], ["basis", rule.basis], ["latching", rule.latching ? say("rules.latching") : ""], ["delays", rule.delays.map(({ period_s, delay_s }) => say("rules.delay", { delay: span(delay_s), period: period_s })).join("; ")], ["changed", changed],
  ];
  return make("dl", { class: "facts" }, ...all.filter(([, text]) => text).flatMap(([key, text]) => [make("dt", {}, say(`rules.fact.${key}`)), make("dd", {}, text ?? "")]));
}

