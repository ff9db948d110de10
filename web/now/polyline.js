// From buckets to what is drawn: a line through their middles, and the band of their true
// extremes. A gap breaks both; slow cadence (empty buckets without a break) does not. Pure.

/** A bucket as drawn. @typedef {{at: number, low: number, high: number, broken: boolean}} Knot */
/** Coordinates for the chart; null lifts the pen. @typedef {{x: (number | null)[], y: (number | null)[]}} Path */

/**
 * The buckets of a trace that touch [from, to], with one more on either side so that lines run
 * off the edge. Values are in the unit `turn` makes of Celsius.
 * @param {Trace | null} trace
 * @param {number} from_ms
 * @param {number} to_ms
 * @param {(celsius: number) => number} turn
 * @returns {Knot[]}
 */
export function knots(trace, from_ms, to_ms, turn) {
  /** @type {Knot[]} */
  const found = [];
  for (const segment of trace?.segments ?? []) {
    const { t0_ms, dt_ms, lo } = segment;
    const breaks = new Set(segment.breaks);
    const margin = Math.ceil(60_000 / dt_ms) + 1; // past slow cadence's empty buckets
    const begin = Math.max(0, Math.floor((from_ms - t0_ms) / dt_ms) - margin);
    const end = Math.min(lo.length, Math.ceil((to_ms - t0_ms) / dt_ms) + margin);
    for (let index = begin, broken = false; index < end; index += 1) {
      broken ||= breaks.has(index);
      const knot = knotAt(segment, index, to_ms, turn, broken);
      if (!knot) continue;
      found.push(knot);
      broken = false;
    }
  }
  return found;
}

/**
 * @param {Segment} segment
 * @param {number} index
 * @param {number} to_ms
 * @param {(celsius: number) => number} turn
 * @param {boolean} broken
 * @returns {Knot | null}
 */
function knotAt(segment, index, to_ms, turn, broken) {
  const low = segment.lo[index];
  const high = segment.hi[index];
  if (low === null || low === undefined || high === null || high === undefined) return null;
  const start = segment.t0_ms + index * segment.dt_ms;
  const middle = start + segment.dt_ms / 2;
  // The newest bucket is still filling: it must not stand in the future.
  const at = middle > to_ms && start <= to_ms ? (start + to_ms) / 2 : middle;
  const scale = segment.counts_per_unit;
  return { at, low: turn(low / scale), high: turn(high / scale), broken };
}

/** Stretches between gaps. @param {readonly Knot[]} found @returns {Knot[][]} */
export function stretches(found) {
  /** @type {Knot[][]} */
  const result = [];
  for (const knot of found) {
    const open = result.at(-1);
    if (open && !knot.broken) open.push(knot);
    else result.push([knot]);
  }
  return result;
}

/**
 * The line through the middles. A reading that stands alone is drawn as a short stroke.
 * @param {readonly Knot[][]} runs
 * @param {number} stub_ms half the length of that stroke
 * @returns {Path}
 */
export function middle(runs, stub_ms) {
  /** @type {Path} */
  const path = { x: [], y: [] };
  for (const run of runs) {
    lift(path);
    for (const knot of widened(run, stub_ms)) add(path, knot.at, (knot.low + knot.high) / 2);
  }
  return path;
}

/**
 * The band between the extremes, each stretch a closed outline; stretches nowhere higher than
 * `least`, which the line itself hides, are left out.
 * @param {readonly Knot[][]} runs
 * @param {number} stub_ms
 * @param {number} [least]
 * @returns {Path}
 */
export function band(runs, stub_ms, least = 0) {
  /** @type {Path} */
  const path = { x: [], y: [] };
  for (const run of runs) {
    if (!run.some((knot) => knot.high - knot.low > least)) continue;
    lift(path);
    const wide = widened(run, stub_ms);
    for (const knot of wide) add(path, knot.at, knot.high);
    for (const knot of [...wide].reverse()) add(path, knot.at, knot.low);
  }
  return path;
}

/** @param {readonly Knot[]} run @param {number} stub_ms @returns {readonly Knot[]} */
function widened(run, stub_ms) {
  const [only] = run;
  if (!only || run.length > 1) return run;
  return [{ ...only, at: only.at - stub_ms }, { ...only, at: only.at + stub_ms }];
}

/** @param {Path} path */
function lift(path) {
  if (path.x.length > 0) add(path, null, null);
}

/** @param {Path} path @param {number | null} x @param {number | null} y */
function add(path, x, y) {
  path.x.push(x);
  path.y.push(y);
}

/**
 * The bucket of a trace nearest to an instant, if one lies within `reach_ms`.
 * @param {readonly Knot[]} found
 * @param {number} at_ms
 * @param {number} reach_ms
 * @returns {Knot | null}
 */
export function nearest(found, at_ms, reach_ms) {
  /** @type {Knot | null} */
  let best = null;
  for (const knot of found) {
    if (!best || Math.abs(knot.at - at_ms) < Math.abs(best.at - at_ms)) best = knot;
  }
  return best && Math.abs(best.at - at_ms) <= reach_ms ? best : null;
}

/**
 * Stretches of [from, to] longer than `least_ms` in which no line has anything: nothing was
 * logged.
 * @param {readonly (readonly Knot[][])[]} lines
 * @param {number} from_ms
 * @param {number} to_ms
 * @param {number} least_ms
 * @returns {[number, number][]}
 */
export function silences(lines, from_ms, to_ms, least_ms) {
  const covered = lines
    .flat()
    .map((run) => ({ start: run[0]?.at ?? from_ms, end: run.at(-1)?.at ?? from_ms }))
    .sort((a, b) => a.start - b.start);
  /** @type {[number, number][]} */
  const found = [];
  let reached = from_ms;
  for (const { start, end } of [...covered, { start: to_ms, end: to_ms }]) {
    if (start > reached + least_ms) found.push([reached, Math.min(start, to_ms)]);
    reached = Math.max(reached, end);
    if (reached >= to_ms) return found;
  }
  return found;
}
