// What the loudness comes to, in words. Pure.

/** The text's key and its words. @param {AlarmLoudness} found @returns {[string, Record<string, string | number>]} */
export function tellLoudness({ days, alarms, per_10_min, most_in_10_min, acceptable_per_10_min, manageable_per_10_min }) {
  const words = { days: Math.max(1, Math.round(days)), count: alarms, mean: decimals(per_10_min), peak: most_in_10_min };
  if (alarms === 0) return ["loud.says.none", words];
  const verdict = per_10_min > manageable_per_10_min ? "over" : per_10_min > acceptable_per_10_min ? "much" : "well";
  return [`loud.says.${verdict}${alarms === 1 ? ".one" : ""}`, words];
}

/** @param {number} mean */
function decimals(mean) {
  return mean < 0.01 ? "less than 0.01" : mean < 1 ? mean.toFixed(2) : mean.toFixed(1);
}
