// What the vessels come to, in words. Pure.

import { parts, say } from "../texts.js";

/** @typedef {import("../texts.js").Part} Part */
/** @typedef {(at: string) => string} SaidAt a moment as said now */

const SAID = 2;

/** The occupancy that holds a vessel now. @param {readonly OccupancyRecord[]} all @param {string} vessel_id @param {number} now_ms */
export function holding(all, vessel_id, now_ms) {
  return all.find((one) => one.vessel_id === vessel_id && Date.parse(one.started_at) <= now_ms && (one.ended_at === null || Date.parse(one.ended_at) > now_ms));
}

/** "pot still, copper, 24 L; element 5.5 kW" @param {VesselRecord} vessel */
export function aboutVessel({ kind, material, heat_source, power_kw }) {
  const words = [say(`vessel.kind.${kind}`)];
  if (material) words.push(materialText(material));
  if (heat_source !== "none") words.push(power_kw === null ? say(`vessel.heat.${heat_source}`) : say("vessel.heated", { source: say(`vessel.heat.${heat_source}`), power: power_kw }));
  return words.join(" · ");
}

/** "stainless-steel" as people say it. @param {string} material */
export function materialText(material) {
  return material.replaceAll(/[-_]/g, " ");
}

/** What of the cellar is in a vessel: a cask holds spirit though no batch is at a stage in it. @param {readonly LotRecord[]} lots @param {string} id */
export function lotsIn(lots, id) {
  return lots.filter(({ vessel_id, now }) => vessel_id === id && now?.volume_l !== 0);
}

/** @param {OccupancyRecord | undefined} one @param {readonly LotRecord[]} lots that are in it @param {SaidAt} saidAt */
export function heldText(one, lots, saidAt) {
  if (!one && lots.length > 0) return say("vessel.lots", { list: lots.map(({ name, now }) => (now?.volume_l == null ? name : say("vessel.lot", { name, volume: now.volume_l.toFixed(1) }))).join("; ") });
  if (!one) return say("vessel.empty");
  return say("vessel.held", { batch: one.batch, stage: say(`stage.${one.stage}`), from: saidAt(one.started_at) });
}

/**
 * @param {readonly VesselRecord[]} vessels
 * @param {readonly OccupancyRecord[]} occupancies
 * @param {readonly PlaceRecord[]} places
 * @param {readonly LotRecord[]} lots of the cellar
 * @param {number} now_ms
 * @param {SaidAt} saidAt
 * @returns {{says: Part[], rests: string, next: "vessel" | "places" | "batch"}}
 */
export function tellVessels(vessels, occupancies, places, lots, now_ms, saidAt) {
  if (vessels.length === 0) return { says: parts("vessels.says.none"), rests: say("vessels.rests.none"), next: "vessel" };
  const held = vessels.flatMap((vessel) => {
    const one = holding(occupancies, vessel.id, now_ms);
    return one ? [{ vessel, one }] : [];
  });
  const stored = vessels.filter(({ id }) => !held.some(({ vessel }) => vessel.id === id) && lotsIn(lots, id).length > 0);
  const says = held.length + stored.length === 0 ? parts(vessels.length === 1 ? "vessels.says.empty.one" : "vessels.says.empty", { name: vessels[0]?.name ?? "", count: vessels.length }) : heldParts(held, stored, vessels.length, saidAt);
  if (!places.some(({ vessel_id }) => vessel_id !== null)) return { says, rests: say("vessels.rests.places"), next: "places" };
  return { says, rests: say("vessels.rests"), next: "batch" };
}

/** @param {{vessel: VesselRecord, one: OccupancyRecord}[]} held @param {VesselRecord[]} stored hold what is in store @param {number} all @param {SaidAt} saidAt @returns {Part[]} */
function heldParts(held, stored, all, saidAt) {
  const gap = { text: " ", strong: false };
  const told = held.slice(0, SAID).flatMap(({ vessel, one }) => [...parts("vessels.says.held", { name: vessel.name, batch: one.batch, stage: say(`stage.${one.stage}`), from: saidAt(one.started_at) }), gap]);
  const more = held.length - Math.min(held.length, SAID);
  const free = all - held.length - stored.length;
  if (more > 0) told.push(...parts(more === 1 ? "vessels.says.more.one" : "vessels.says.more", { count: more }), gap);
  if (stored.length > 0) told.push(...parts(stored.length === 1 ? "vessels.says.stored.one" : "vessels.says.stored", { name: stored[0]?.name ?? "", count: stored.length }), gap);
  if (free > 0) told.push(...parts(free === 1 ? "vessels.says.free.one" : "vessels.says.free", { count: free }));
  return told;
}
