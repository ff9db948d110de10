// A lot on its way to a strength: what is left to add, day by day, what was added so far, and what
// to do where it was too much.

import { make } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { wayTo } from "./tell.js";

/**
 * @param {ProofingRecord} plan
 * @param {object} how
 * @param {(at: string) => string} how.time
 * @param {import("./desk.js").Desk} how.desk
 * @param {LotRecord} how.lot
 */
export function drawPlan(plan, { time, desk, lot }) {
  const { remedy, additions, steps } = plan;
  const isGone = plan.volume_l === 0;
  const cure = remedy?.lot_id ? desk.lots().find(({ id }) => id === remedy.lot_id) : null;
  return make("div", { class: "plan" },
    make("p", { class: "goal" }, ...woven(wayTo(plan))),
    ...(steps.length > 1 ? [make("ol", { class: "steps" }, ...steps.map(({ water_volume_l, abv }, index) => make("li", {}, make("span", {}, say("plan.day", { day: index + 1 })), make("b", {}, say("plan.step", { water: water_volume_l.toFixed(2) })), make("span", {}, say("plan.after", { abv: abv.toFixed(1) })))))] : []),
    ...(remedy ? [make("div", { class: "remedy" }, make("p", {}, remedy.advice), ...(remedy.name && remedy.stronger_volume_l !== null ? [make("p", {}, ...woven(parts("plan.remedy", { volume: remedy.stronger_volume_l.toFixed(3), name: remedy.name, abv: (remedy.stronger_abv ?? 0).toFixed(1), excess: (remedy.excess_water_volume_l ?? 0).toFixed(3) })))] : []))] : []),
    ...(isGone ? [] : [make("div", { class: "deeds" },
      ...(cure && remedy ? [pressFor(say("plan.remedy.go"), () => desk.transfer("blend", cure, { start: { to_lot: lot.id, volume_l: remedy.stronger_volume_l === null ? null : Number(remedy.stronger_volume_l.toFixed(3)), volume_temperature_c: 20 } }))] : []),
      pressFor(say("plan.water"), () => desk.transfer("dilute", lot)),
      pressFor(say("plan.measure"), () => desk.measure(lot)),
      pressFor(say("plan.another"), () => desk.proof([lot], plan), "quiet"))]),
    ...(additions.length > 0 ? [make("p", { class: "hint" }, say("plan.added")), make("ul", { class: "added", "aria-label": say("plan.added") }, ...additions.map(({ at, mass_kg, volume_l, text }) => make("li", {}, make("span", {}, time(at)), make("b", {}, mass_kg !== null ? say("entry.value.mass", { mass: mass_kg }) : say("entry.value.volume", { volume: volume_l ?? "" })), make("small", {}, text))))] : []),
  );
}
