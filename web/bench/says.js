// The answer's sentence in parts, its band, and its list of numbers. Pure.

const LONG = 40; // characters; a longer text is a sentence, not a value

/** @typedef {import("../texts.js").Part} Part */

/**
 * Set what was found bold in the service's sentence.
 * @param {string} sentence
 * @param {Declaration} declaration
 * @param {Answer} answer
 * @returns {Part[]}
 */
export function boldParts(sentence, { gives }, { words, values, why }) {
  if (why) return [{ text: sentence, strong: false }];
  const found = gives.filter(({ name }) => values[name] !== null && values[name] !== "");
  const wanted = found.map(({ name }) => words[name] ?? "").filter((text) => text !== "" && text.length <= 4 * LONG && !/[.!] /.test(`${text} `));
  if (wanted.length === 0) return [{ text: sentence, strong: false }];
  const longest = [...new Set(wanted)].sort((a, b) => b.length - a.length).map(escaped);
  const pattern = new RegExp(`(?<![\\d.,\u2212-])(${longest.join("|")})(?![\\d]|[.,]\\d)`, "g");
  return sentence.split(pattern).map((text, index) => ({ text, strong: index % 2 === 1 })).filter(({ text }) => text !== "");
}

/** @param {string} text */
function escaped(text) {
  return text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
}

/** The names that go from a least to a most: [["abv_low", "abv_high"]]. @param {readonly Item[]} gives */
export function pairsOf(gives) {
  const names = new Set(gives.map(({ name }) => name));
  return gives
    .filter(({ name, unit }) => unit !== null && /_low(_|$)/.test(name))
    .map(({ name }) => /** @type {[string, string]} */ ([name, name.replace(/_low(?=_|$)/, "_high")]))
    .filter(([, high]) => names.has(high));
}

/** @typedef {{label: string, text: string, told: boolean}} Row told: there is a value */

/**
 * The list of numbers: all that is given but texts the sentence says already.
 * @param {Declaration} declaration
 * @param {Answer} answer
 * @returns {Row[]}
 */
export function rowsOf({ gives }, { values, words, sentence, why }) {
  const worth = gives.filter(({ name, decimals }) => {
    const value = values[name];
    if (decimals !== null) return true;
    return typeof value === "string" && value !== why && value !== "" && !(value.length > LONG && sentence.includes(value));
  });
  return worth.map(({ name, label }) => ({ label, text: words[name] ?? "", told: values[name] !== null }));
}

/** The one number of an answer, for where there is room for one only. @param {Declaration} declaration @param {Answer} answer */
export function mainOf({ gives }, { words }) {
  const first = gives.find(({ decimals, many }) => decimals !== null && !many);
  return first ? { label: first.label, text: words[first.name] ?? "" } : null;
}
