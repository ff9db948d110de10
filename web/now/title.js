// The tab's title says the state, so that a glance at the tabs is enough. Pure.

import { temperature, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { healthOf, isStale } from "./health.js";
import { nameOf, placesOf } from "./lines.js";

/**
 * @param {import("./reduce.js").State} state
 * @param {import("../shared/units.js").Unit} unit
 */
export function title(state, unit) {
  const simulated = state.site?.simulated ? say("title.simulated") : "";
  return [stateText(state, unit), simulated, say("app.name")].filter(Boolean).join(" · ");
}

/** @param {import("./reduce.js").State} state @param {import("../shared/units.js").Unit} unit */
function stateText({ live, link, now_ms }, unit) {
  if (link.phase === "lost") return say("title.lost");
  if (!live) return "";
  if (live.scan_ms === null) return say("title.nothing");
  if (isStale(live, now_ms)) return say("title.silent");
  const places = placesOf(live);
  const health = places.map((place) => healthOf(place, live, now_ms));
  const bad = places.filter((_, index) => !health[index]?.good);
  const [first] = bad;
  const good = places.filter((_, index) => health[index]?.good);
  const warning = first ? warn(bad.length, nameOf(first), health[places.indexOf(first)]?.grade ?? "other") : "";
  return [warning, hottest(good, unit)].filter(Boolean).join(" · ");
}

/** @param {number} count @param {string} name @param {string} grade */
function warn(count, name, grade) {
  return count === 1 ? say("title.bad", { name, reason: say(`grade.${grade}`) }) : say("title.bads", { count });
}

/** @param {readonly LivePlace[]} good @param {import("../shared/units.js").Unit} unit */
function hottest(good, unit) {
  const [top] = [...good].sort((a, b) => (b.value ?? 0) - (a.value ?? 0));
  if (!top) return "";
  return say("title.value", { value: temperature(top.value ?? 0, unit), unit: unitSign(unit), name: nameOf(top) });
}
