// How the house does: each part in a sentence, the worst first, with what to do about it.

import "../shared/texts.js";
import "./texts.js";
import { get } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { startPage, woven } from "../shared/page.js";
import { has, parts, say } from "../texts.js";

/** @typedef {{name: string, state: "ok" | "warn" | "bad", says: string, do: string | null}} Check */
/** @typedef {{state: string, checks: Check[], program_version: string, schema_version: string}} Health */

const AGAIN_MS = 15_000;
const GRAVITY = ["bad", "warn", "ok"];

const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const list = make("ul", { class: "wire health" });
find(document, "#main").append(make("section", { class: "home" }, says, rests, list));

/** @param {Health} health @param {import("../shared/page.js").Ground} ground */
function show({ checks, program_version, schema_version }, { zone }) {
  const now = Date.now();
  says.replaceChildren(...woven(parts(...sentence(checks))));
  setText(rests, say("health.rests", { program: program_version, schema: schema_version, when: saidTime(now, now, zone) }));
  list.replaceChildren(...[...checks].sort((a, b) => GRAVITY.indexOf(a.state) - GRAVITY.indexOf(b.state)).map(line));
}

/** @param {Check[]} checks @returns {[string, Record<string, number>]} */
function sentence(checks) {
  const count = (/** @type {string} */ state) => checks.filter((one) => one.state === state).length;
  const grave = count("bad");
  if (grave) return [grave === 1 ? "health.grave.one" : "health.grave.many", { count: grave }];
  const small = count("warn");
  if (small) return [small === 1 ? "health.one" : "health.many", { count: small }];
  return ["health.well", {}];
}

/** @param {Check} check */
function line(check) {
  const name = has(`health.name.${check.name}`) ? say(`health.name.${check.name}`) : check.name;
  const said = make("p", { class: "said" }, check.says);
  const todo = check.do === null ? [] : [make("p", { class: "do" }, check.do)];
  const head = make("h2", {}, name, make("span", { class: "state" }, say(`health.state.${check.state}`)));
  return make("li", { class: check.state === "ok" ? "" : check.state === "bad" ? "silent" : "open" }, head, said, ...todo);
}

const refresh = startPage("health", () => /** @type {Promise<Health>} */ (get("health")), show);
setInterval(() => document.visibilityState === "visible" && void refresh(), AGAIN_MS);
