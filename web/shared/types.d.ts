// What the service says, and what plotly.js is to us. Read by the type checker only.

interface Site {
  name: string;
  time_zone: string;
  temperature_unit: "C" | "F";
  simulated: boolean;
  store_epoch: string;
  program_version: string;
  altitude_m: number | null;
}

/** A place as people named it, whether or not a probe reads it. */
interface NamedPlace {
  id: string;
  name: string;
  vessel_id: string | null;
}

interface NamedVessel {
  id: string;
  name: string;
}

interface Pressure {
  pressure_hpa: number;
  source: "barometer" | "entered" | "altitude";
  says: string;
}

/** One place (or one probe without a place) as last read; without a probe it is only named. */
interface LivePlace {
  key: string;
  vessel?: string | null;
  place?: string | null;
  probe_id: string | null;
  quantity: string;
  value: number | null;
  grade: string;
  good_ms: number | null;
  last_good_value: number | null;
  trend_per_min: number | null;
}

interface LiveState {
  now_ms: number;
  event_id: string;
  slot: number | null;
  scan_ms: number | null;
  age_s: number | null;
  period_s: number | null;
  stale_after_s: number;
  places: LivePlace[];
  unplaced: LivePlace[];
}

/** [key, value or null, grade, trend a minute or null] */
type ScanEntry = [string, number | null, string, number | null];

interface ScanMessage {
  slot: number;
  scan_ms: number;
  period_s: number;
  readings: ScanEntry[];
}

/** Buckets of one series with their true extremes, in whole counts. */
interface Segment {
  t0_ms: number;
  dt_ms: number;
  counts_per_unit: number;
  lo: (number | null)[];
  hi: (number | null)[];
  breaks: number[];
}

interface Trace {
  key: string;
  probe_id: string | null;
  vessel: string | null;
  place: string | null;
  quantity: string;
  segments: Segment[];
}

interface HistoryMessage {
  from_ms: number;
  to_ms: number;
  traces: Trace[];
}

/** The part of plotly.js that the sheet uses. */
interface Plotly {
  react(
    root: HTMLElement,
    data: object[],
    layout: object,
    config?: object,
  ): Promise<unknown>;
  purge(root: HTMLElement): void;
}

interface Window {
  Plotly?: Plotly;
}
