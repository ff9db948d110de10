// The forms of lots: a lot itself, a measure, a transfer, an empty jar, a strength to come to. What
// is entered waits like everything else, and a refusal comes back to its field.

import { Refusal, serviceNow } from "../shared/api.js";
import { day } from "../shared/clock.js";
import { makeEntry } from "../shared/entry.js";
import { uuid7 } from "../shared/uuid7.js";
import { say } from "../texts.js";
import { choice, gauged, gaugingOf, isGauged, moment, number, watered } from "./fields.js";
import { LOT_KINDS, transferBody, WAYS } from "./ways.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {import("../shared/waiting.js").Wish} Wish */
/** @typedef {import("../shared/entry.js").Entered} Entered */
/** @typedef {import("./fields.js").Choice} Choice */

/**
 * What every form here needs.
 * @typedef {object} Ways
 * @property {string} zone
 * @property {import("../record/keeper.js").Keeper} keeper
 * @property {() => void} close
 * @property {Waiting} [refused] what is put right
 */

/** The thing whose form it is. @typedef {{id: string, name: string, kind: string, batch: string | null}} Here */

/** Enter it, or put right what was refused. @param {Ways} ways @param {Wish} wish */
async function give({ keeper, refused }, wish) {
  if (refused) await (await keeper.queue).mend(refused.id, wish.body);
  else await keeper.submit(wish);
}

/** @param {any} at as entered */
function since(at) {
  return at ?? new Date(serviceNow()).toISOString();
}

/**
 * @param {object} given
 * @param {LotRecord | null} [given.lot] the one to correct
 * @param {readonly VesselRecord[]} given.vessels
 * @param {readonly {name: string}[]} given.batches
 * @param {string | null} [given.batch] whose it is by itself
 * @param {Ways} ways
 */
export function lotForm({ lot = null, vessels, batches, batch = null }, ways) {
  /** @type {Record<string, any>} */
  const start = ways.refused?.body ?? lot ?? { batch };
  return makeEntry({
    key: "lot", zone: ways.zone, submit: say(lot ? "entry.save" : "lots.add"), cancel: ways.close,
    fields: [
      choice("kind", LOT_KINDS.map((kind) => /** @type {Choice} */ ([kind, say(`lot.${kind}`)])), start.kind ?? (batch ? "wash" : "low_wines")),
      { name: "name", label: say("lots.name"), value: start.name ?? "" },
      choice("vessel_id", [["", say("lots.novessel")], ...vessels.map(({ id, name }) => /** @type {Choice} */ ([id, name]))], start.vessel_id ?? ""),
      ...(lot ? [] : gauged(start.measure ?? {}, { volume: say("lots.measure.later") })),
      choice("batch", [["", say("lots.nobatch")], ...batches.map(({ name }) => /** @type {Choice} */ ([name, name]))], start.batch ?? "", { more: true }),
      { name: "origin", label: say("lots.origin"), kind: "long", hint: say("lots.origin.hint"), value: start.origin ?? "", blank: true, more: true },
      ...(lot ? [] : moment(start, false)),
    ],
    act: async (values) => {
      const { kind, name, vessel_id, batch: of, origin, at } = values;
      const said = { kind, name, vessel_id, batch: of, origin };
      const read = gaugingOf(values);
      if (lot) await give(ways, { kind: "lot", subject: lot.id, scope: lot.id, method: "PUT", path: `lots/${lot.id}`, body: { ...said, version: lot.version }, label: say("lots.corrected", { name: String(name) }) });
      else await give(ways, { kind: "lot", scope: null, method: "POST", path: "lots", body: { ...said, at: since(at), measure: isGauged(read) ? read : null }, label: say("lots.added", { name: String(name) }) });
      ways.close();
    },
  });
}

/** @param {Here} here @param {MeasureRecord | null} measure the one to correct @param {Ways} ways */
export function measureForm(here, measure, ways) {
  const start = ways.refused?.body ?? measure ?? {};
  return makeEntry({
    key: "measure", zone: ways.zone, submit: say("lots.measure.keep"), cancel: ways.close,
    fields: [...gauged(start), ...moment(start, false)],
    act: async (values) => {
      const body = { ...gaugingOf(values), at: since(values.at) };
      const label = say("lots.measured", { name: here.name });
      if (measure) await give(ways, { kind: "measure", subject: measure.id, scope: here.id, method: "PUT", path: `measures/${measure.id}`, body: { ...body, version: measure.version }, label });
      else await give(ways, { kind: "measure", scope: here.id, method: "POST", path: `lots/${here.id}/measures`, body, label });
      ways.close();
    },
  });
}

const NEW = "new";

/** What may stand at the other end. @param {string} kind @param {Here} here @param {readonly LotRecord[]} lots @param {readonly RunSummary[]} runs @param {string} zone @returns {Choice[]} */
function ends(kind, here, lots, runs, zone) {
  const { other, begins } = WAYS[kind] ?? { other: null };
  const named = (/** @type {readonly LotRecord[]} */ some) => some.filter(({ id }) => id !== here.id).map(({ id, name, kind: of }) => /** @type {Choice} */ ([id, say("lots.choice", { name, kind: say(`lot.${of}`) })]));
  if (other === "run") return runs.map(({ id, vessel, batch, purpose, started_at }) => [id, say("lots.run", { vessel: vessel ?? "", batch, purpose: say(`stage.${purpose}`), day: day(Date.parse(started_at), zone) })]);
  if (other === "water") return [["", say("lots.tap")], ...named(lots.filter((lot) => lot.kind === "water"))];
  const fits = lots.filter((lot) => lot.kind === begins);
  return [[NEW, say("lots.new")], ...named(fits), ...named(lots.filter((lot) => lot.kind !== begins))];
}

/**
 * @param {object} given
 * @param {string} given.kind of the transfer
 * @param {Here} given.here
 * @param {readonly LotRecord[]} given.lots
 * @param {readonly RunSummary[]} given.runs
 * @param {Partial<TransferRecord>} [given.start] what is offered
 * @param {TransferRecord | null} [given.move] the one to correct
 * @param {Ways} ways
 */
export function transferForm({ kind, here, lots, runs, start = {}, move = null }, ways) {
  const shown = ways.refused?.body ?? move ?? start;
  const way = WAYS[kind] ?? { here: "from", other: null };
  const side = way.here === "from" ? "to_lot" : "from_lot";
  const choices = way.other === null ? [] : ends(kind, here, lots, runs, ways.zone).filter(([id]) => !(id === NEW && (move || ways.refused)));
  const begun = newLot(here, ways);
  return makeEntry({
    key: `transfer-${kind}`, zone: ways.zone, submit: say("lots.keep", { what: say(`way.${kind}`).toLowerCase() }), cancel: ways.close,
    fields: [
      ...(way.other === null ? [] : [choice(side, choices, shown[side] ?? (kind === "merge" ? (choices[1]?.[0] ?? NEW) : null), { label: say(`lots.${side}.${way.other}`), hint: choices.length === 0 ? say("lots.norun") : "" })]),
      ...(choices.some(([id]) => id === NEW) ? [
        choice("new_kind", LOT_KINDS.map((each) => /** @type {Choice} */ ([each, say(`lot.${each}`)])), way.begins ?? "other", { when: [side, NEW] }),
        { name: "new_name", label: say("lots.new_name"), value: "", when: /** @type {const} */ ([side, NEW]) },
      ] : []),
      ...(kind === "dilute" ? watered(shown) : gauged(shown, { volume: way.here === "from" ? say("lots.all") : "", strength: way.here === "to" })),
      ...moment(shown),
    ],
    act: async (values) => {
      const read = gaugingOf(values);
      if (way.here === "to" && read.volume_l == null && read.mass_kg == null) throw new Refusal(say("lots.needsvolume"), "refused", "volume_l", 422);
      const other = values[side] === NEW ? await begun(String(values.new_kind), values.new_name) : values[side];
      const body = transferBody(kind, here.id, /** @type {string | null} */ (other ?? null), { ...read, at: since(values.at), text: values.text });
      const label = say("lots.done", { what: say(`way.${kind}`), name: here.name });
      if (move) await give(ways, { kind: "transfer", subject: move.id, scope: here.id, method: "PUT", path: `transfers/${move.id}`, body: { ...body, version: move.version }, label });
      else await give(ways, { kind: "transfer", scope: here.id, method: "POST", path: "transfers", body, label });
      ways.close();
    },
  });
}

/**
 * A lot that is begun with what is put into it: once, also where what follows is refused and sent
 * again.
 * @param {{batch: string | null}} here
 * @param {Ways} ways
 */
export function newLot({ batch }, { keeper }) {
  const id = uuid7();
  /** @type {{kind: string, name: string} | null} */
  let said = null;
  return async (/** @type {string} */ kind, /** @type {any} */ name) => {
    const now = { kind, name, batch: kind === "feints" ? null : batch };
    try {
      if (!said) await keeper.submit({ id, kind: "lot", scope: null, method: "POST", path: "lots", body: { ...now, at: since(null) }, label: say("lots.added", { name: String(name) }) });
      else if (said.kind !== kind || said.name !== name) await keeper.submit({ subject: id, kind: "lot", scope: id, method: "PUT", path: `lots/${id}`, body: { ...now, version: 1 }, label: say("lots.corrected", { name: String(name) }) });
    } catch (error) {
      if (error instanceof Refusal && (error.field === "name" || error.field === "kind")) throw new Refusal(error.message.replace(/\bname\b/, `“${say("lots.new_name")}”`), error.kind, `new_${error.field}`, error.status);
      throw error;
    }
    said = { kind, name };
    return id;
  };
}

/** What an empty jar weighs and holds. @param {readonly JarVesselRecord[]} known @param {number | null} jar its number, where that is known @param {Ways} ways */
export function tareForm(known, jar, ways) {
  const start = ways.refused?.body ?? known.find(({ number: of }) => of === jar) ?? {};
  return makeEntry({
    key: "tare", zone: ways.zone, submit: say("tare.keep"), cancel: ways.close,
    fields: [
      ...(jar === null ? [number("number", "", start, { hint: say("tare.number.hint") })] : []),
      number("tare_kg", "kg", start, { hint: say("tare.hint") }),
      number("holds_l", "L", { holds_l: start.volume_l }),
    ],
    act: async ({ number: typed, tare_kg, holds_l }) => {
      const of = jar ?? typed;
      if (!Number.isInteger(of)) throw new Refusal(say("tare.number.needed"), "refused", "number", 422);
      const version = known.find((one) => one.number === of)?.version ?? 0;
      const body = { tare_kg, volume_l: holds_l, version };
      try {
        await give(ways, { kind: "jar-vessel", subject: `jar-vessel ${of}`, scope: null, method: "PUT", path: `jar-vessels/${of}`, body, label: say("tare.kept", { number: Number(of) }) });
      } catch (error) {
        throw error instanceof Refusal && error.field === "volume_l" ? new Refusal(error.message.replaceAll("volume_l", "holds_l"), error.kind, "holds_l", error.status) : error;
      }
      ways.close();
    },
  });
}

/** The strength a lot shall come to. @param {readonly Here[]} lots those it may be of @param {ProofingRecord | null} plan as it stands @param {Ways} ways */
export function proofingForm(lots, plan, ways) {
  const start = ways.refused?.body ?? plan ?? {};
  const [only] = lots;
  return makeEntry({
    key: "proofing", zone: ways.zone, submit: say("plan.keep"), cancel: ways.close,
    fields: [
      ...(lots.length > 1 ? [choice("lot_id", lots.map(({ id, name }) => /** @type {Choice} */ ([id, name])), start.lot_id ?? null)] : []),
      number("target_abv", "%", start),
      number("daily_fall_abv", "%", { daily_fall_abv: 2, ...start }, { hint: say("plan.daily.hint") }),
      number("slow_from_abv", "%", { slow_from_abv: 100, ...start }, { hint: say("plan.slow.hint"), more: true }),
    ],
    act: async (values) => {
      const lot_id = values.lot_id ?? only?.id;
      await give(ways, { kind: "proofing", scope: String(lot_id), method: "POST", path: "proofings", body: { ...values, lot_id }, label: say("plan.kept", { name: lots.find(({ id }) => id === lot_id)?.name ?? "" }) });
      ways.close();
    },
  });
}
