// Where the forms of lots are opened from: one for each page that has them, so that the same is
// entered the same way on the lot's page, a jar's, the cellar's and the batch's.

import { lotForm, measureForm, proofingForm, tareForm, transferForm } from "./forms.js";
import { pourForm } from "./pour.js";
import { withWaiting } from "./ways.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {import("./forms.js").Here} Here */

/** What is entered here, and can be put right here. @param {Waiting} entry */
export function mendsHere({ kind }) {
  return ["lot", "measure", "transfer", "proofing", "jar-vessel"].includes(kind);
}

/**
 * What the forms choose among.
 * @typedef {object} Stock
 * @property {readonly LotRecord[]} lots
 * @property {readonly RunSummary[]} runs
 * @property {readonly VesselRecord[]} vessels
 * @property {readonly {name: string}[]} batches
 * @property {readonly JarVesselRecord[]} empties
 */

/**
 * @param {object} given
 * @param {import("../record/keeper.js").Keeper} given.keeper
 * @param {() => string} given.zone
 * @param {() => Stock} given.stock
 * @param {(form: HTMLElement) => void} given.put
 * @param {() => void} given.close
 */
export function makeDesk({ keeper, zone, stock, put, close }) {
  const ways = (/** @type {Waiting} */ refused = /** @type {any} */ (undefined)) => ({ zone: zone(), keeper, close, refused });
  const known = () => ({ ...stock(), lots: withWaiting(stock().lots, keeper.entries()) });
  /** @param {string | null} id @returns {Here} */
  const hereOf = (id) => known().lots.find((lot) => lot.id === id) ?? { id: id ?? "", name: "", kind: "jar", batch: null };

  return {
    lots: () => known().lots,
    /** @param {LotRecord | null} lot the one to correct @param {string | null} [batch] */
    lot: (lot, batch = null) => put(lotForm({ ...known(), lot, batch }, ways())),
    /** @param {Here} here @param {MeasureRecord | null} [measure] */
    measure: (here, measure = null) => put(measureForm(here, measure, ways())),
    /** @param {string} kind @param {Here} here @param {{start?: Partial<TransferRecord>, move?: TransferRecord}} [more] */
    transfer: (kind, here, more = {}) => put(transferForm({ ...known(), kind, here, ...more }, ways())),
    /** @param {RunRecord} run */
    pour: (run) => put(pourForm(run, known().lots, ways())),
    /** @param {number | null} number */
    tare: (number) => put(tareForm(stock().empties, number, ways())),
    /** @param {readonly Here[]} lots @param {ProofingRecord | null} [plan] */
    proof: (lots, plan = null) => put(proofingForm(lots, plan, ways())),
    /** Opens what was refused again, where it is of a kind entered here. @param {Waiting} entry */
    mend(entry) {
      const { kind, subject, scope, body, path, method } = entry;
      const again = ways(entry);
      if (kind === "lot") put(lotForm({ ...known(), lot: method === "PUT" ? (known().lots.find(({ id }) => id === subject) ?? null) : null }, again));
      if (kind === "measure") put(measureForm(hereOf(scope), null, again));
      if (kind === "transfer") put(transferForm({ ...known(), kind: body.kind, here: hereOf(scope) }, again));
      if (kind === "proofing") put(proofingForm([hereOf(body.lot_id)], null, again));
      if (kind === "jar-vessel") put(tareForm(stock().empties, Number(path.split("/").at(-1)), again));
    },
  };
}

/** @typedef {ReturnType<typeof makeDesk>} Desk */
