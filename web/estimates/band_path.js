// From what was told to a band and a line on the sheet. Where nothing could be told, and over what
// was not told for long, both are broken. Pure.

/** @typedef {{at_ms: number, value: number | null, low: number | null, high: number | null}} Point */
/** @typedef {{from_ms: number, to_ms: number}} View */

const LONGEST_MS = 2 * 3_600_000; // an estimate is told again at least hourly

/** @param {readonly IssuedRun[]} runs @returns {Point[]} */
export function points(runs) {
  return runs.flatMap(({ at_ms, value, low, high }) => [
    ...at_ms.map((at, index) => ({ at_ms: at, value: value[index] ?? null, low: low[index] ?? null, high: high[index] ?? null })),
    { at_ms: at_ms.at(-1) ?? 0, value: null, low: null, high: null }, // a run does not go over into the next
  ]);
}

/** The points of a view, with one more on either side. @param {readonly Point[]} all @param {View} view */
export function within(all, { from_ms, to_ms }) {
  const first = all.findIndex(({ at_ms }) => at_ms >= from_ms);
  if (first < 0) return all.slice(-1);
  const last = all.findLastIndex(({ at_ms }) => at_ms <= to_ms);
  return all.slice(Math.max(0, first - 1), last + 2);
}

/** Stretches that can be told, each without a gap. @param {readonly Point[]} own @returns {Point[][]} */
export function stretchesOf(own) {
  /** @type {Point[][]} */
  const found = [];
  let before = null;
  for (const point of own) {
    if (point.value === null) before = null;
    else {
      if (before === null || point.at_ms - before > LONGEST_MS) found.push([]);
      found.at(-1)?.push(point);
      before = point.at_ms;
    }
  }
  return found;
}

/** @param {readonly Point[]} own @param {View} view @param {{width: number, height: number}} size */
export function outline(own, { from_ms, to_ms }, { width, height }) {
  const x = (/** @type {number} */ at_ms) => (((at_ms - from_ms) / (to_ms - from_ms)) * width).toFixed(1);
  const y = (/** @type {number} */ percent) => ((1 - Math.min(100, Math.max(0, percent)) / 100) * height).toFixed(1);
  const stretches = stretchesOf(own);
  const line = (/** @type {readonly Point[]} */ run, /** @type {(point: Point) => number} */ of) => run.map((point) => `${x(point.at_ms)} ${y(of(point))}`).join("L");
  return {
    middle: stretches.map((run) => `M${line(run, ({ value }) => value ?? 0)}`).join(""),
    range: stretches.map((run) => `M${line(run, (p) => p.high ?? p.value ?? 0)}L${line([...run].reverse(), (p) => p.low ?? p.value ?? 0)}Z`).join(""),
  };
}
