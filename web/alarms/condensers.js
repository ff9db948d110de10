// Whose limit is being looked at: the one of all condensers, or one condenser's own.

import { send } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { deedFor } from "../shared/entry.js";
import { say } from "../texts.js";

/** Whether it is worth choosing: there are several, or one has its own. @param {AlarmRule} rule */
export function hasChoice({ condensers }) {
  return condensers.length > 1 || condensers.some(({ own }) => own);
}

/** @param {AlarmRule} rule @param {AlarmCondenser | null} chosen @param {(limits: {limit: number}) => string} limitText */
export function chooser(rule, chosen, limitText) {
  const line = (/** @type {string} */ name, /** @type {string} */ about, /** @type {{limit: number}} */ limits, /** @type {AlarmCondenser | null} */ one) =>
    make("li", {}, make("a", { href: `#rules/${encodeURIComponent(rule.rule)}${one ? `/${one.condenser_id}` : ""}`, "aria-current": one === chosen ? "true" : null },
      make("strong", {}, name), " ", make("span", { class: "limit" }, limitText(limits)), make("span", { class: "about" }, about)));
  return make("nav", { class: "whose", "aria-label": say("rules.whose") }, make("ul", {},
    line(say("rules.whose.all"), "", rule, null),
    ...rule.condensers.map((one) => line(one.name, say(one.own ? "rules.whose.own" : "rules.whose.same"), one, one))));
}

/** Lets a condenser go by its rule again. @param {AlarmRule} rule @param {AlarmCondenser} one @param {() => Promise<void>} load */
export function letGo(rule, one, load) {
  const path = `alarms/rules/${encodeURIComponent(rule.rule)}/condensers/${one.condenser_id}`;
  return make("div", { class: "letgo" }, deedFor(say("rules.whose.letgo"), () => send("DELETE", path, { version: one.version }, undefined).then(load)));
}
