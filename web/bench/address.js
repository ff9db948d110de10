// The address of an answer: "#dilution?volume_l=10&abv=65", always in metric units. Pure.

/** @typedef {{name: string, values: Map<string, string>, bare: boolean}} Place bare: a name alone */

/**
 * Read an address; null where it names nothing.
 * @param {string} hash
 * @returns {Place | null}
 */
export function parse(hash) {
  const [path = "", ...rest] = hash.replace(/^#/, "").split("?");
  const name = decoded(path).trim();
  if (!name) return null;
  const query = rest.join("?");
  return { name, values: new Map(new URLSearchParams(query)), bare: query === "" };
}

/**
 * @param {string} name
 * @param {Iterable<readonly [string, Given]>} [given] a list goes with commas between its values
 */
export function compose(name, given = []) {
  const pairs = [...given].map(([key, value]) => {
    const texts = (Array.isArray(value) ? value : [value]).map((one) => encodeURIComponent(one ?? ""));
    return `${encodeURIComponent(key)}=${texts.join(",")}`;
  });
  return `#${encodeURIComponent(name)}${pairs.length > 0 ? `?${pairs.join("&")}` : ""}`;
}

/** @param {string} text */
function decoded(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text; // a stray percent sign is read as it stands
  }
}
