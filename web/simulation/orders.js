// What is sent to cause a fault or to end it, and how those that stand are said. Pure.

import { readTyped } from "../bench/values.js";
import { say } from "../texts.js";

/** @typedef {{kind: "bus" | "plant", name: string, says: string, places: number, amount: number | null, unit: string | null}} FaultKind */
/** @typedef {{probe_id: string, vessel: string | null, place: string | null, fault: string | null}} SimulatedProbe */
/** @typedef {{vapour_abv: number, collected_l: number, pressure_hpa: number}} PlantState */
/** @typedef {{says: string, plant: PlantState | null, places: string[], probes: SimulatedProbe[], faults: FaultKind[], standing: {name: string, amount: number, places: string[]}[]}} Simulation */
/** @typedef {{probe_id?: string, places?: string[], amount?: number | string | null}} Chosen */
/** @typedef {{path: string, body: object}} Order */

/** @param {FaultKind} fault @param {string} at @param {string} other @param {string} amount @returns {Chosen} */
export function chosenBody(fault, at, other, amount) {
  if (fault.kind === "bus") return { probe_id: at };
  const typed = readTyped(amount);
  const given = typed.kind === "number" ? typed.shown : typed.kind === "empty" ? null : typed.text;
  return { places: [at, other].slice(0, fault.places), amount: fault.unit === null ? null : given };
}

/** @param {FaultKind} fault @param {Chosen} chosen @returns {Order} */
export function orderOf(fault, { probe_id, places = [], amount = null }) {
  if (fault.kind === "bus") return { path: "simulation/probes", body: { probe_id, fault: fault.name } };
  return { path: "simulation/plant", body: { fault: fault.name, on: true, places, amount } };
}

/** Time passes only in a plant that runs. @param {Simulation} simulation */
export function jumpable({ plant }) {
  return plant !== null;
}

/** Each fault that stands, in words, and what ends it. @param {Simulation} simulation @returns {{text: string, order: Order}[]} */
export function standingText({ probes, standing, faults }) {
  /** @param {string} name */
  const says = (name) => faults.find((one) => one.name === name)?.says ?? name;
  const of_bus = probes.filter(({ fault }) => fault !== null).map(({ probe_id, place, fault }) => ({
    text: say("sim.stands", { place: place?.replaceAll("_", " ") ?? probe_id, says: says(fault ?? "") }),
    order: { path: "simulation/probes", body: { probe_id, fault: null } },
  }));
  const of_plant = standing.map(({ name, places }) => ({
    text: places.length ? say("sim.stands", { place: places.join(", ").replaceAll("_", " "), says: says(name) }) : `${says(name)}.`,
    order: { path: "simulation/plant", body: { fault: name, on: false } },
  }));
  return [...of_bus, ...of_plant];
}
