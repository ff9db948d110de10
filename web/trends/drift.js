// Whose drift a line shows: one probe's at one place. Another probe in its place begins another
// line, and the same probe elsewhere does too, for depth of water raises what a pot's reads.

/** @typedef {Trends["drift"][number]} Drift */

/** Where it stood. @param {Drift} one */
export function standsAt({ place, vessel }) {
  return [place.replaceAll("_", " "), vessel].filter(Boolean).join(" · ");
}

/** The lines, in the order in which they began. @param {readonly Drift[]} drift */
export function linesOf(drift) {
  /** @type {Map<string, Drift[]>} */
  const lines = new Map();
  for (const one of drift) {
    const key = `${one.probe_id} ${one.place_id}`;
    lines.set(key, [...(lines.get(key) ?? []), one]);
  }
  return [...lines.values()].flatMap((own) => own.slice(-1).map((newest) => ({ label: `${newest.probe} · ${standsAt(newest)}`, newest, own })));
}
