// The distiller's own words for smell and taste, remembered: those used last come first.

const KEY = "wormtub.words";
const MOST = 24;

/** @returns {string[]} */
export function words() {
  try {
    const found = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(found) ? found.filter((word) => typeof word === "string") : [];
  } catch {
    return []; // storage is shut: the words of the runs shown are offered all the same
  }
}

/** @param {readonly string[]} used */
export function remember(used) {
  const all = merged(used, words());
  try {
    localStorage.setItem(KEY, JSON.stringify(all));
  } catch {
    // Storage is shut: they are remembered with the record alone.
  }
}

/** @param {...(readonly string[])} lists */
export function merged(...lists) {
  return [...new Set(lists.flat().map((word) => word.trim()).filter((word) => word !== ""))].slice(0, MOST);
}

/** "green apple, solvent" as typed @param {string} text */
export function split(text) {
  return merged(text.split(/[,;\n]/));
}
