// Makers of what the service says, for the tests of the pure modules.

export const T0 = Date.UTC(2026, 2, 14, 12, 0, 0);
export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

/** A place as last read. */
export function place(name, value, more = {}) {
  return {
    key: name, place: name, vessel: "still", probe_id: `28-${name}`, quantity: "temperature_c",
    value, grade: value === null ? "empty" : "ok", good_ms: T0, last_good_value: value ?? 50,
    trend_per_min: value === null ? null : 0, ...more,
  };
}

export function live(places, more = {}) {
  return {
    now_ms: T0, event_id: `${T0 / 1000}.0`, slot: T0 / 1000, scan_ms: T0, age_s: 0, period_s: 1,
    stale_after_s: 5, places, unplaced: [], ...more,
  };
}

export function scan(at_ms, readings, period_s = 1) {
  return { slot: at_ms / 1000, scan_ms: at_ms, period_s, readings };
}

/** A trace of one segment; null is an empty bucket, a number both extremes, a pair [lo, hi]. */
export function trace(key, t0_ms, dt_ms, buckets, breaks = [], counts_per_unit = 16) {
  const count = (bucket, end) => (Array.isArray(bucket) ? bucket[end] : bucket);
  const scaled = (end) => buckets.map((bucket) => (bucket === null ? null : count(bucket, end) * counts_per_unit));
  const segment = { t0_ms, dt_ms, counts_per_unit, lo: scaled(0), hi: scaled(1), breaks };
  return { key, probe_id: null, vessel: "still", place: key, quantity: "temperature_c", segments: [segment] };
}

export function history(traces, want = { from_ms: T0 - HOUR, to_ms: T0, bucket_ms: 1000 }) {
  return { want, traces };
}

export function textOf(parts) {
  return parts.map(({ text }) => text).join("");
}

/** A repeatable source of numbers in [0, 1): a linear congruential generator. */
export function randomness(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}
