// A batch's story in the order it happened: where it was, what was entered, its runs. Pure.

import { lossText } from "../lots/tell.js";
import { degrees, unitSign } from "../shared/units.js";
import { has, say } from "../texts.js";

/** @typedef {{key: string, at_ms: number, title: string, about: string, value: string, entry: EntryRecord | null, href: string | null, waiting: boolean}} Chapter */
/** @typedef {import("../shared/queue.js").Waiting} Waiting */

/** @typedef {import("../shared/units.js").Unit} Unit */

const QUIET = { value: "", entry: null, href: null, waiting: false };

/**
 * @param {BatchView} batch
 * @param {StagesRecord | null} stages
 * @param {readonly RunRecord[]} runs
 * @param {readonly Waiting[]} waiting
 * @param {(at: string) => string} time
 * @param {Unit} unit
 * @returns {Chapter[]} the newest first
 */
export function storyOf(batch, stages, runs, waiting, time, unit) {
  const held = batch.occupancies.map((one) => {
    const run = runs.find(({ id }) => id === one.id);
    const until = one.ended_at ? say("batch.held.until", { time: time(one.ended_at) }) : say("batch.held.open");
    const about = run && run.jars.length > 0 ? say("batch.run", { jars: run.jars.length, marks: run.marks.length }) : "";
    const title = say("batch.held", { stage: say(`stage.${one.stage}`), vessel: one.vessel ?? "" });
    return { ...QUIET, key: one.id, at_ms: Date.parse(one.started_at), title, about: [about, until].filter(Boolean).join(", "), value: chargeText(run), href: run ? `run.html?id=${run.id}` : null };
  });
  const changed = new Map(waiting.filter(({ kind, subject, id }) => kind === "entry" && subject !== id).map((entry) => [entry.subject, entry]));
  const told = (stages?.entries ?? []).map((entry) => ({
    ...QUIET, key: entry.id, at_ms: Date.parse(entry.at), title: entryTitle(entry), about: [entryAbout(entry, stages, unit), entry.text].filter(Boolean).join(" "),
    value: entryValue(entry, unit), entry, waiting: changed.has(entry.id),
  }));
  const known = new Set(told.map(({ key }) => key));
  const waits = waiting.filter(({ id, subject, kind, scope }) => kind === "entry" && id === subject && scope === batch.name && !known.has(id)).map((entry) => {
    const said = /** @type {EntryRecord} */ ({ ...entry.body, id: entry.id });
    return { ...QUIET, key: entry.id, at_ms: entry.made_ms, title: entryTitle(said), about: say("batch.waits"), value: entryValue(said, unit), waiting: true };
  });
  return [...held, ...told, ...waits].sort((a, b) => b.at_ms - a.at_ms);
}

/** @param {RunRecord | undefined} run */
function chargeText(run) {
  if (!run?.charge || run.charge.volume_l === null) return "";
  const { volume_l, abv } = run.charge;
  return abv === null ? say("entry.value.volume", { volume: volume_l.toFixed(1) }) : say("entry.value.charge", { volume: volume_l.toFixed(1), abv: abv.toFixed(1) });
}

/** @param {EntryRecord} entry */
export function entryTitle({ kind, name }) {
  const what = has(`entry.kind.${kind}`) ? say(`entry.kind.${kind}`) : kind.replaceAll("_", " ");
  const own = kind === "grain" ? name.replaceAll("_", " ").replaceAll("-", " ") : name && name !== "rest" ? name : "";
  return own ? say("entry.titled", { what, name: own }) : what;
}

/** The number that matters of an entry. @param {EntryRecord} entry @param {Unit} [unit] only a rest's number is a temperature, and no lot has one */
export function entryValue(entry, unit = "C") {
  const { kind, mass_kg, volume_l, sg, reading_sg, ph, low_c, high_c, count, smell } = entry;
  if (kind === "gravity") return (sg ?? reading_sg)?.toFixed(4) ?? "";
  if (kind === "spout") return say("entry.value.spout", { abv: entry.abv?.toFixed(1) ?? "" });
  if (kind === "ph") return ph?.toFixed(2) ?? "";
  if (kind === "rest") return say("entry.value.range", { low: shown(low_c, unit), high: shown(high_c, unit), unit: unitSign(unit) });
  if (kind === "iodine") return say(entry.starch_left ? "entry.starch" : "entry.nostarch");
  if (kind === "bottle_fill") return say("entry.value.bottles", { count: count ?? 0, volume: volume_l ?? "" });
  if (kind === "smell") return (smell ?? []).join(", ");
  if (mass_kg != null) return say("entry.value.mass", { mass: mass_kg });
  return volume_l == null ? "" : say("entry.value.volume", { volume: volume_l });
}

/** A temperature that was entered, no finer than it was. @param {number | null | undefined} celsius @param {Unit} unit */
function shown(celsius, unit) {
  return celsius == null ? "" : String(Number(degrees(celsius, unit).toFixed(1))).replace("-", "\u2212");
}

/** What follows from an entry, or how it was read. @param {EntryRecord} entry @param {StagesRecord | null} stages @param {Unit} unit */
function entryAbout(entry, stages, unit) {
  if (entry.kind === "rest") {
    const rest = stages?.rests.find(({ entry_id }) => entry_id === entry.id);
    if (!rest) return "";
    const planned = rest.planned_min === null ? "" : say("entry.planned", { minutes: rest.planned_min.toFixed(0) });
    const unknown = rest.unknown_min > 0.5 ? say("entry.unknown", { minutes: rest.unknown_min.toFixed(0) }) : "";
    return say("entry.held", { minutes: rest.in_range_min.toFixed(0), planned, unknown });
  }
  const cask = entry.kind === "cask_weight" ? stages?.casks.find(({ lot_id, weighed_at }) => lot_id === entry.lot_id && Date.parse(weighed_at) === Date.parse(entry.at)) : undefined;
  if (cask) return lossText(cask);
  if (entry.kind === "gravity" && entry.temperature_c !== null) return say("entry.read", { reading: entry.reading_sg?.toFixed(4).replace(/0$/, "") ?? "", temperature: `${shown(entry.temperature_c, unit)} ${unitSign(unit)}` });
  return entry.temperature_c == null ? "" : say("entry.at", { temperature: `${shown(entry.temperature_c, unit)} ${unitSign(unit)}` });
}
