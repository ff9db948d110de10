// Live readings laid into the buckets of a loaded history, so that the sheet goes on by itself
// with every bucket's extremes still true. Pure: nothing given is changed.

const GAP_PERIODS = 2.5; // a line goes on over one slot missed, not over two

/**
 * A loaded stretch of history: what was asked for and what came.
 * @typedef {{want: import("./view.js").Want, traces: readonly Trace[]}} History
 */

/**
 * @param {History} history
 * @param {ScanMessage} scan
 * @param {ReadonlyMap<string, LivePlace>} places by key
 * @returns {History}
 */
export function fold(history, scan, places) {
  const good = new Map(scan.readings.filter(([, value]) => value !== null).map((entry) => [entry[0], entry[1]]));
  const known = new Set(history.traces.map(({ key }) => key));
  const traces = history.traces.map((trace) => {
    const value = good.get(trace.key);
    return value === null || value === undefined ? trace : extended(trace, scan, value);
  });
  const bucket_ms = bucketOf(history);
  for (const [key, value] of good) {
    const place = places.get(key);
    if (place && value !== null && !known.has(key)) traces.push(begun(place, scan, value, bucket_ms));
  }
  return { want: { ...history.want, to_ms: Math.max(history.want.to_ms, scan.scan_ms) }, traces };
}

/** @param {History} history */
function bucketOf({ traces, want }) {
  const known = traces.flatMap((trace) => trace.segments).at(-1)?.dt_ms;
  return known ?? Math.max(1000, Math.ceil(want.bucket_ms / 1000) * 1000);
}

/**
 * @param {Trace} trace
 * @param {ScanMessage} scan
 * @param {number} value
 * @returns {Trace}
 */
function extended(trace, scan, value) {
  const last = trace.segments.at(-1);
  if (!last) return { ...trace, segments: [segmentOf(scan, value, 1000)] };
  const index = Math.floor((scan.scan_ms - last.t0_ms) / last.dt_ms);
  if (index < 0) return trace;
  const count = Math.round(value * last.counts_per_unit);
  return { ...trace, segments: [...trace.segments.slice(0, -1), withCount(last, index, count, scan)] };
}

/**
 * @param {Segment} segment
 * @param {number} index
 * @param {number} count
 * @param {ScanMessage} scan
 * @returns {Segment}
 */
function withCount(segment, index, count, scan) {
  const previous = lastGood(segment);
  const lo = padded(segment.lo, index);
  const hi = padded(segment.hi, index);
  lo[index] = Math.min(lo[index] ?? count, count);
  hi[index] = Math.max(hi[index] ?? count, count);
  const missed_ms = (index - previous) * segment.dt_ms;
  const allowed_ms = GAP_PERIODS * scan.period_s * 1000 + segment.dt_ms;
  const broken = previous >= 0 && index > previous && missed_ms > allowed_ms;
  return { ...segment, lo, hi, breaks: broken ? [...segment.breaks, index] : segment.breaks };
}

/** @param {readonly (number | null)[]} values @param {number} index */
function padded(values, index) {
  const copy = values.slice();
  while (copy.length <= index) copy.push(null);
  return copy;
}

/** @param {Segment} segment */
function lastGood({ lo }) {
  let index = lo.length - 1;
  while (index >= 0 && lo[index] === null) index -= 1;
  return index;
}

/**
 * @param {LivePlace} place
 * @param {ScanMessage} scan
 * @param {number} value
 * @param {number} dt_ms
 * @returns {Trace}
 */
function begun(place, scan, value, dt_ms) {
  const { key, probe_id, vessel = null, place: name = null, quantity } = place;
  return { key, probe_id, vessel, place: name, quantity, segments: [segmentOf(scan, value, dt_ms)] };
}

/**
 * @param {ScanMessage} scan
 * @param {number} value
 * @param {number} dt_ms
 * @returns {Segment}
 */
function segmentOf(scan, value, dt_ms) {
  const counts_per_unit = 10_000;
  const count = Math.round(value * counts_per_unit);
  const t0_ms = Math.floor(scan.scan_ms / dt_ms) * dt_ms;
  return { t0_ms, dt_ms, counts_per_unit, lo: [count], hi: [count], breaks: [] };
}
