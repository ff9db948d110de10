// The ways liquid goes: what the lot at hand is in each, what stands at the other end, and which
// ways a lot offers first. Pure.

/**
 * @typedef {object} Way
 * @property {"from" | "to"} here which end the lot, or the jar, at hand is
 * @property {"lot" | "run" | "water" | null} other what stands at the other end; null: nothing in the books
 * @property {string} [begins] the kind of a lot that may be begun at the other end
 */

/** @type {Record<string, Way>} */
export const WAYS = {
  charge: { here: "from", other: "run" },
  dilute: { here: "to", other: "water" },
  blend: { here: "from", other: "lot", begins: "blend" },
  merge: { here: "from", other: "lot", begins: "feints" },
  move: { here: "from", other: "lot", begins: "cask" },
  bottle: { here: "from", other: "lot", begins: "bottles" },
  collect: { here: "to", other: "run" },
  receive: { here: "to", other: null },
  sample: { here: "from", other: null },
  use: { here: "from", other: null },
  discard: { here: "from", other: null },
  destroy: { here: "from", other: null },
  loss: { here: "from", other: null },
};

export const LOT_KINDS = ["wash", "low_wines", "feints", "spirit", "blend", "cask", "bottles", "backset", "water", "other"];

/** What a kind of lot is likeliest to come to next, the likeliest first. @type {Record<string, string[]>} */
const FIRST = {
  wash: ["charge", "collect"],
  low_wines: ["charge", "collect"],
  feints: ["charge", "merge"],
  spirit: ["dilute", "move", "bottle"],
  blend: ["dilute", "bottle"],
  cask: ["sample", "bottle"],
  bottles: ["use"],
  backset: ["use"],
  water: ["receive", "use"],
  jar: ["blend", "merge", "discard"],
};

const OF_A_JAR = ["blend", "merge", "move", "charge", "sample", "use", "discard", "destroy", "loss"];

/** What can be done with a lot of a kind, or with a jar: what fits first, and the rest. @param {string} kind */
export function waysOf(kind) {
  const first = FIRST[kind] ?? ["merge"];
  const all = kind === "jar" ? OF_A_JAR : Object.keys(WAYS).filter((way) => way !== "dilute" || kind !== "water");
  return { first, rest: all.filter((way) => !first.includes(way)) };
}

/** Water from the tap: it holds nothing, and what it was read at does not matter to a weight. */
const TAP = { reading_abv: 0, reading_error_abv: 0, instrument: "density_meter" };
const TAP_C = 15;

/**
 * What is sent of a transfer.
 * @param {string} kind
 * @param {string} here the lot or the jar at hand
 * @param {string | null} other the other end; null: outside the books
 * @param {Record<string, any>} values as entered
 */
export function transferBody(kind, here, other, values) {
  const away = WAYS[kind]?.here === "from";
  const tap = kind === "dilute" ? { ...TAP, temperature_c: values.temperature_c ?? TAP_C } : {};
  return { kind, from_lot: away ? here : other, to_lot: away ? other : here, ...values, ...tap };
}

/** The end of a transfer that is not the lot at hand. @param {{from_lot: string | null, to_lot: string | null}} move @param {string} here */
export function otherEnd({ from_lot, to_lot }, here) {
  return from_lot === here ? to_lot : from_lot;
}

/** The lots with those that wait for the service. @param {readonly LotRecord[]} lots @param {readonly import("../shared/queue.js").Waiting[]} waiting @returns {LotRecord[]} */
export function withWaiting(lots, waiting) {
  const found = new Map(lots.map((lot) => [lot.id, lot]));
  for (const { kind, method, id, subject, body } of waiting) {
    if (kind !== "lot") continue;
    const known = found.get(subject);
    const { version: _, id: __, measure: ___, ...said } = body;
    if (method === "POST" && id === subject && !known) found.set(id, { name: "", kind: "other", vessel_id: null, batch: null, origin: "", version: 1, now: null, ...said, id, waiting: true });
    else if (method === "PUT" && known) found.set(subject, { ...known, ...said, waiting: true });
    else if (known && method === "DELETE") found.delete(subject);
  }
  return [...found.values()];
}
