// What the loudness comes to, in words. Pure.

const USUAL = { low: 80, medium: 15, high: 5 };
const ACCEPTABLE = 1;
const MOST = 2;

/** The text's key and its words. @param {AlarmLoudness} found @returns {[string, Record<string, string | number>]} */
export function tellLoudness({ count, mean_10_min, peak_10_min }) {
  if (count === 0) return ["loud.says.none", {}];
  const verdict = mean_10_min > MOST ? "over" : mean_10_min > ACCEPTABLE ? "much" : "well";
  return [`loud.says.${verdict}`, { count, mean: mean_10_min < 0.1 ? mean_10_min.toFixed(3) : mean_10_min.toFixed(1), peak: peak_10_min }];
}

/** Each priority's share beside what is usual, in whole percent. @param {Record<AlarmPriority, number>} counts */
export function shares(counts) {
  const all = counts.low + counts.medium + counts.high;
  if (all === 0) return [];
  return (/** @type {const} */ (["high", "medium", "low"])).map((priority) => ({ priority, share: Math.round((counts[priority] / all) * 100), usual: USUAL[priority] }));
}
