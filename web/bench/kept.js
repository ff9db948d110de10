// What this browser keeps of the bench: the units chosen, and what was asked lately.

const KEY = "wormtub.bench";
const MOST = 5;

/** @typedef {{units: Units | null, lately: string[]}} Kept */

/** @returns {Kept} */
export function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    const units = found.units === "us" || found.units === "metric" ? found.units : null;
    const lately = Array.isArray(found.lately) ? found.lately.filter((/** @type {unknown} */ one) => typeof one === "string").slice(0, MOST) : [];
    return { units, lately };
  } catch {
    return { units: null, lately: [] }; // storage is shut or holds something else
  }
}

/** @param {Partial<Kept>} change */
export function keep(change) {
  try {
    localStorage.setItem(KEY, JSON.stringify({ ...kept(), ...change }));
  } catch {
    // Storage is shut: the choice lasts until the page is left.
  }
}

/** @param {string} name */
export function keepLately(name) {
  keep({ lately: [name, ...kept().lately.filter((one) => one !== name)].slice(0, MOST) });
}
