// Finding a calculation by what one wants to know. Pure.

const SMALL = new Set(["a", "an", "and", "at", "be", "can", "do", "does", "for", "from", "how", "i", "if", "in", "is", "it", "long", "many", "me", "much", "my", "of", "on", "the", "this", "to", "what", "when", "which", "will", "with"]);
const WEIGHTS = /** @type {const} */ ([["question", 4], ["name", 3], ["subject", 2], ["summary", 1]]);

/** @typedef {{found: CalculationSummary[], whole: boolean}} Found whole: every word was found */

/**
 * Return what fits the words, best first; where nothing has all of them, what has some.
 * @param {readonly CalculationSummary[]} all
 * @param {string} query
 * @returns {Found}
 */
export function search(all, query) {
  const wanted = wordsOf(query);
  if (wanted.length === 0) return { found: [...all], whole: true };
  const scored = all.map((one) => ({ one, scores: wanted.map((word) => scoreOf(one, word)) }));
  const hits = (/** @type {number[]} */ scores) => scores.filter((score) => score > 0).length;
  const most = Math.max(0, ...scored.map(({ scores }) => hits(scores)));
  const best = scored.filter(({ scores }) => most > 0 && hits(scores) === most);
  const sum = (/** @type {number[]} */ scores) => scores.reduce((a, b) => a + b, 0);
  best.sort((a, b) => sum(b.scores) - sum(a.scores));
  return { found: best.map(({ one }) => one), whole: most === wanted.length };
}

/** The words that say something; if all are small ones, all of them. @param {string} text */
function wordsOf(text) {
  const words = plain(text).split(" ").filter(Boolean);
  const telling = words.filter((word) => !SMALL.has(word));
  return telling.length > 0 ? telling : words;
}

/** A whole word counts most, its beginning less, its middle least. @param {CalculationSummary} one @param {string} word */
function scoreOf(one, word) {
  const stem = word.length > 3 ? word.replace(/s$/, "") : word;
  const scores = WEIGHTS.map(([part, weight]) => {
    const text = ` ${plain(one[part])} `;
    if (text.includes(` ${word} `)) return weight * 3;
    if (text.includes(` ${stem}`)) return weight * 2;
    return word.length > 2 && text.includes(stem) ? weight / 2 : 0;
  });
  return Math.max(...scores);
}

/** @param {string} text */
function plain(text) {
  return text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "").replace(/[^a-z0-9]+/g, " ").trim();
}

/**
 * Group by subject, keeping the order.
 * @param {readonly CalculationSummary[]} all
 * @returns {{subject: string, members: CalculationSummary[]}[]}
 */
export function bySubject(all) {
  /** @type {Map<string, CalculationSummary[]>} */
  const groups = new Map();
  for (const one of all) groups.set(one.subject, [...(groups.get(one.subject) ?? []), one]);
  return [...groups].map(([subject, members]) => ({ subject, members }));
}
