// Several jars poured together in one go: which, into what, and of which only a part.

import { Refusal, serviceNow } from "../shared/api.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { cutOf } from "../record/run.js";
import { choice, number } from "./fields.js";
import { newLot } from "./forms.js";
import { transferBody } from "./ways.js";

/** @typedef {import("./fields.js").Choice} Choice */
/** @typedef {import("../shared/entry.js").Field} Field */

const NEW = "new";
const KINDS = ["blend", "spirit", "feints"];

/**
 * @param {RunRecord} run whose jars they are
 * @param {readonly LotRecord[]} lots
 * @param {import("./forms.js").Ways} ways
 */
export function pourForm(run, lots, ways) {
  const jars = run.jars.filter(({ ended_at, withdrawn, is_gone }) => ended_at !== null && !withdrawn && !is_gone);
  const into = [...lots.filter(({ kind }) => KINDS.includes(kind)), ...lots.filter(({ kind }) => !KINDS.includes(kind) && kind !== "water")];
  const begun = newLot(run, ways);
  const poured = new Set();
  return makeEntry({
    key: `pour-${run.id}`, zone: ways.zone, submit: say("pour.go"), cancel: ways.close,
    lead: [jars.length === 0 ? say("pour.none") : say("pour.rests")],
    fields: [
      choice("to_lot", [[NEW, say("lots.new")], ...into.map(({ id, name, kind }) => /** @type {Choice} */ ([id, say("lots.choice", { name, kind: say(`lot.${kind}`) })]))], NEW, { label: say("lots.to_lot.lot") }),
      choice("new_kind", KINDS.map((kind) => /** @type {Choice} */ ([kind, say(`lot.${kind}`)])), "blend", { when: ["to_lot", NEW] }),
      { name: "new_name", label: say("lots.new_name"), value: "", when: /** @type {const} */ (["to_lot", NEW]) },
      ...jars.map((jar) => /** @type {Field} */ ({ name: `all-${jar.id}`, label: jarText(jar, run), kind: "tick", value: false })),
      ...jars.map((jar) => number(`part-${jar.id}`, "L", {}, { label: say("pour.part", { number: jar.number }), more: true })),
    ],
    act: async (values) => {
      const chosen = jars.filter(({ id }) => values[`all-${id}`] === true || values[`part-${id}`] !== null);
      if (chosen.length === 0) throw new Refusal(say("pour.which"), "refused", jars[0] ? `all-${jars[0].id}` : null, 422);
      const to = values.to_lot === NEW ? await begun(String(values.new_kind), values.new_name) : String(values.to_lot);
      const kind = lots.find(({ id }) => id === to)?.kind === "feints" || values.new_kind === "feints" ? "merge" : "blend";
      const at = new Date(serviceNow()).toISOString();
      for (const { id, number: of } of chosen) {
        if (poured.has(id)) continue;
        const body = transferBody(kind, id, to, { volume_l: values[`part-${id}`] ?? null, at, text: "" });
        await ways.keeper.submit({ kind: "transfer", scope: id, method: "POST", path: "transfers", body, label: say("pour.done", { number: of }) }).catch((error) => atJar(error, id, of));
        poured.add(id);
      }
      ways.close();
    },
  });
}

/** A refusal of one jar stands at that jar; those before it are poured. @param {unknown} error @param {string} id @param {number} number @returns {never} */
function atJar(error, id, number) {
  if (!(error instanceof Refusal)) throw error;
  const field = error.field === "volume_l" ? `part-${id}` : `all-${id}`;
  throw new Refusal(say("pour.refused", { number, sentence: error.message.replaceAll("volume_l", say("lots.volume_l").toLowerCase()) }), error.kind, field, error.status);
}

/** @param {JarRecord} jar @param {RunRecord} run */
function jarText(jar, run) {
  const volume = jar.left_volume_l ?? jar.volume_at_20_c_l ?? jar.volume_l;
  const said = [say(`cut.${cutOf(jar, run) ?? "none"}`), volume == null ? "" : say("lots.volume", { volume: volume.toFixed(2) }), jar.abv == null ? "" : say("lots.strength", { abv: jar.abv.toFixed(1) }), jar.lot_id === null ? "" : say("pour.already")];
  return say("pour.jar", { number: jar.number, list: said.filter(Boolean).join(", ") });
}
