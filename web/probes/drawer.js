// What is known of one probe, and what can be done with it: one form at a time.

import { get, send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { deedFor, makeEntry, pressFor, problemText } from "../shared/entry.js";
import { degreesApart, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { isThermometer, mainReading, nameOf, placeName, refusedText, TEMPERATURE } from "./tell.js";

/** @typedef {import("./probes.js").Means} Means */
/** @typedef {import("../shared/entry.js").Field} Field */

/** @param {string} id @param {Means} means @param {HTMLElement} root */
export function makeDrawer(id, means, root) {
  const facts = make("dl", { class: "facts" });
  const deeds = make("div", { class: "deeds" });
  const form = make("div", { class: "doing" });
  const kept = make("div", { class: "kept" });
  root.replaceChildren(deeds, form, facts, kept);
  const probe = () => /** @type {ProbeRecord} */ (means.hands().probes.find((one) => one.id === id));
  /** @type {string} */
  let stood = "";

  /** @param {HTMLElement | null} entry */
  function put(entry) {
    form.replaceChildren(...(entry ? [entry] : []));
    const first = entry?.querySelector("input, select, button");
    if (first instanceof HTMLElement) first.focus();
  }
  const done = async () => {
    put(null);
    await means.refresh();
  };
  const tools = { id, probe, means, put, done };

  function fresh() {
    facts.replaceChildren(...factsOf(probe(), means).flatMap(([label, text]) => [make("dt", {}, label), make("dd", {}, text)]));
    const now = JSON.stringify([probe().retired, mainReading(probe())?.place_id, mainReading(probe())?.calibration?.id]);
    if (now === stood) return;
    stood = now;
    deeds.replaceChildren(...deedsOf(tools));
    void calibrationsOf(tools, kept);
  }
  fresh();
  return { fresh };
}

/** @typedef {{id: string, probe: () => ProbeRecord, means: Means, put: (entry: HTMLElement | null) => void, done: () => Promise<void>}} Tools */

/** @typedef {"calibrate" | "swap" | "replace" | "place" | "take" | "rename" | "use"} Deed */

/**
 * What can be done with a probe. What else measures than a thermometer is neither boiled nor swapped
 * here, and a barometer hangs where it likes.
 * @param {ProbeRecord} probe @returns {readonly Deed[]}
 */
export function deedsWith(probe) {
  if (probe.retired) return ["use", "rename"];
  if (quantityOf(probe) === "pressure_hpa") return ["rename", "use"];
  const isPlaced = Boolean(mainReading(probe)?.place_id);
  if (!isThermometer(probe)) return isPlaced ? ["place", "take", "rename"] : ["place", "rename", "use"];
  return isPlaced ? ["calibrate", "swap", "replace", "place", "take", "rename"] : ["place", "calibrate", "rename", "use"];
}

/** @param {Tools} tools @returns {HTMLElement[]} */
function deedsOf(tools) {
  const { id, probe, put } = tools;
  const { retired } = probe();
  const placed = mainReading(probe())?.place_id;
  /** @type {Record<Deed, () => HTMLElement>} */
  const made = {
    calibrate: () => make("a", { class: "press", href: `#calibrate/${encodeURIComponent(id)}` }, say("probes.do.calibrate")),
    swap: () => make("a", { class: "press", href: `#swap/${placed}` }, say("probes.do.swap")),
    replace: () => pressFor(say("probes.do.replace"), () => put(replaceForm(tools))),
    place: () => pressFor(say(placed ? "probes.do.move" : "probes.do.place"), () => put(placeForm(tools)), placed ? undefined : "main"),
    take: () => pressFor(say("probes.do.take"), () => put(takeForm(tools))),
    rename: () => pressFor(say("probes.do.rename"), () => put(renameForm(tools))),
    use: () => deedFor(say(retired ? "probes.do.use" : "probes.do.retire"), () => retire(tools, !retired)),
  };
  return deedsWith(probe()).map((deed) => made[deed]());
}

/** @param {ProbeRecord} probe @param {Means} means @returns {[string, string][]} */
function factsOf(probe, means) {
  const reading = mainReading(probe);
  const { ground } = means.hands();
  const now = Date.now();
  const bits = probe.resolution_bits ? say("probes.fact.bits", { kind: probe.kind, bits: probe.resolution_bits }) : probe.kind;
  return [
    [say("probes.fact.id"), probe.id],
    [say("probes.fact.kind"), bits],
    [say("probes.fact.supply"), say(`probes.supply.${probe.supply}`)],
    [say("probes.fact.master"), probe.master || "–"],
    [say("probes.fact.good"), reading?.last_good_at ? saidTime(Date.parse(reading.last_good_at), now, ground.zone) : say("probes.never")],
    [say("probes.fact.hour"), refusedText(reading?.bad_counts ?? {}) || say("probes.refused.none")],
    [say("probes.fact.day"), refusedText(reading?.bad_counts_day ?? {}) || say("probes.refused.none")],
  ];
}

/** @param {Tools} tools */
function renameForm({ id, probe, means, put, done }) {
  return makeEntry({
    key: "rename",
    zone: means.hands().ground.zone,
    fields: [{ name: "name", label: say("probes.rename.name"), value: probe().name ?? "", hint: say("probes.rename.hint") }],
    submit: say("entry.save"),
    cancel: () => put(null),
    again: () => void means.refresh(),
    act: async ({ name }) => {
      const { version, retired } = probe();
      await send("PUT", `probes/${encodeURIComponent(id)}`, {}, { name, retired, version });
      await done();
    },
  });
}

/** @param {Tools} tools @param {boolean} retired */
async function retire({ id, probe, done }, retired) {
  const { version, name } = probe();
  await send("PUT", `probes/${encodeURIComponent(id)}`, {}, { name: name ?? id, retired, version });
  await done();
}

/** What a probe is placed for: a thermometer's temperature, else what it measures. @param {ProbeRecord} probe */
export function quantityOf(probe) {
  return mainReading(probe)?.quantity ?? TEMPERATURE;
}

/** Places as choices, those first that nothing measures the same at. @param {Means} means @param {string} [quantity] @returns {[string, string][]} */
export function placeChoices(means, quantity = TEMPERATURE) {
  const { places, vessels, probes } = means.hands();
  const taken = new Map(probes.flatMap(({ readings, id, name }) => readings.flatMap((one) => (one.place_id && one.quantity === quantity ? [[one.place_id, name ?? id]] : []))));
  const free = places.filter(({ id }) => !taken.has(id));
  const rest = places.filter(({ id }) => taken.has(id));
  return [
    ...free.map((place) => /** @type {[string, string]} */ ([place.id, placeName(place, vessels)])),
    ...rest.map((place) => /** @type {[string, string]} */ ([place.id, say("probes.place.taken", { place: placeName(place, vessels), probe: taken.get(place.id) ?? "" })])),
  ];
}

/** @param {Tools} tools @returns {HTMLElement} */
function placeForm({ means, put, done, probe }) {
  const { ground } = means.hands();
  if (means.hands().places.length === 0) return make("p", { class: "first" }, say("probes.noplaces"), " ", make("a", { href: "vessels.html" }, say("probes.to.vessels")));
  /** @type {Field[]} */
  const fields = [
    { name: "place_id", label: say("probes.place.which"), kind: "choice", choices: placeChoices(means, quantityOf(probe())) },
    { name: "effective_at", label: say("entry.from"), kind: "time", optional: true, hint: say("probes.place.fromhint") },
  ];
  return makeEntry({
    key: "place",
    zone: ground.zone,
    fields,
    submit: say("probes.place.submit"),
    cancel: () => put(null),
    act: async ({ place_id, effective_at }) => {
      const from = effective_at ?? null;
      await moveProbe(probe().id, String(place_id), typeof from === "string" ? from : null, quantityOf(probe()));
      await done();
    },
  });
}

/** Put a probe at a place; where it sat until then, that ends. @param {string} probe_id @param {string} place_id @param {string | null} from_at @param {string} [quantity] */
export async function moveProbe(probe_id, place_id, from_at, quantity = TEMPERATURE) {
  await send("POST", "placements/move", {}, { probe_id, place_id, from_at, quantity });
}

/** @param {Means} means @param {ProbeRecord} probe */
function openPlacement(means, probe) {
  return means.hands().placements.find((one) => one.probe_id === probe.id && one.ended_at === null && one.quantity === quantityOf(probe));
}

/** @param {PlacementRecord} placement @param {string | null} ended_at */
function endPlacement({ id, place_id, probe_id, quantity, effective_at, version }, ended_at) {
  return send("PUT", `placements/${id}`, {}, { place_id, probe_id, quantity, effective_at, ended_at, version });
}

/** @param {Tools} tools */
function takeForm({ means, put, done, probe }) {
  return makeEntry({
    key: "take",
    zone: means.hands().ground.zone,
    lead: [make("p", {}, say("probes.take.lead", { place: nameOf(probe()) }))],
    fields: [{ name: "ended_at", label: say("entry.from"), kind: "time", optional: true, hint: say("entry.now") }],
    submit: say("probes.do.take"),
    cancel: () => put(null),
    again: () => void means.refresh(),
    act: async ({ ended_at }) => {
      const now = openPlacement(means, probe());
      if (now) await endPlacement(now, typeof ended_at === "string" ? ended_at : new Date().toISOString());
      await done();
    },
  });
}

/** @param {Tools} tools @returns {HTMLElement} */
function replaceForm({ id, means, put, done, probe }) {
  const others = means.hands().probes.filter((one) => one.id !== id && !one.retired && isThermometer(one) && !mainReading(one)?.place_id);
  if (others.length === 0) return make("p", { class: "first" }, say("probes.replace.none"));
  return makeEntry({
    key: "replace",
    zone: means.hands().ground.zone,
    lead: [make("p", {}, say("probes.replace.lead", { place: nameOf(probe()) }))],
    fields: [
      { name: "new", label: say("probes.replace.new"), kind: "choice", choices: others.map((one) => [one.id, one.name ?? one.id]) },
      { name: "from_at", label: say("entry.from"), kind: "time", optional: true, hint: say("entry.now") },
      { name: "retire_old", label: say("probes.replace.retire"), kind: "tick", value: true },
    ],
    submit: say("probes.do.replace"),
    cancel: () => put(null),
    act: async (values) => {
      await send("POST", "probes/replace", {}, { old: id, ...values });
      await done();
    },
  });
}

/** @typedef {{id: string, version: number, probe_id: string, slope: number, offset: number, method: string, effective_at: string, residual_c: number | null, applies: boolean, withdrawn: boolean}} CalibrationRecord */

/** The calibrations of a probe, the newest first, each to be taken back. @param {Tools} tools @param {HTMLElement} root */
async function calibrationsOf({ id, means, done, probe }, root) {
  if (!isThermometer(probe())) return root.replaceChildren();
  /** @type {CalibrationRecord[]} */
  let found = [];
  try {
    found = await get("calibrations", { probe_id: id });
  } catch (error) {
    return root.replaceChildren(make("p", { class: "trouble" }, problemText(error)));
  }
  const { zone, unit } = means.hands().ground;
  const items = found
    .sort((a, b) => Date.parse(b.effective_at) - Date.parse(a.effective_at))
    .map((one) => make("li", { class: one.withdrawn ? "withdrawn" : null }, make("p", {}, calibrationText(one, zone, unit)), ...(one.withdrawn ? [] : [undo(one)])));

  /** @param {CalibrationRecord} one */
  function undo(one) {
    return deedFor(say("probes.cal.undo"), async () => {
      await send("DELETE", `calibrations/${one.id}`, { version: one.version });
      await done();
    });
  }
  root.replaceChildren(make("h2", {}, say("probes.cal.kept")), items.length ? make("ul", {}, ...items) : make("p", { class: "hint" }, say("probes.cal.none")));
}

/** @param {CalibrationRecord} one @param {string} zone @param {"C" | "F"} unit */
function calibrationText({ effective_at, method, slope, offset, residual_c, applies, withdrawn }, zone, unit) {
  const words = {
    from: saidTime(Date.parse(effective_at), Date.now(), zone),
    method,
    slope: slope.toFixed(4),
    offset: `${offset < 0 ? "\u2212" : "+"}${Math.abs(degreesApart(offset, unit)).toFixed(2)} ${unitSign(unit)}`,
    residual: residual_c === null ? "" : say("probes.cal.residual", { residual: `${degreesApart(residual_c, unit).toFixed(2)} ${unitSign(unit)}` }),
    applied: withdrawn ? say("probes.cal.withdrawn") : applies ? say("probes.cal.applied") : "",
  };
  return say("probes.cal.line", words);
}
