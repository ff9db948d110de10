// What the service says of the record: runs, marks, jars, lots, batches. Read by the type checker only.

type Cut = "foreshots" | "heads" | "hearts" | "tails" | "feints";
type MarkKind = "first_drop" | "foreshots_end" | "hearts" | "tails" | "end" | "power" | "note" | "other";

/** `waiting` is the page's own: entered here and not yet taken by the service. */
interface MarkRecord {
  id: string;
  run_id: string;
  kind: MarkKind;
  at: string;
  power_kw: number | null;
  text: string;
  smell: string[];
  source: string;
  version: number;
  waiting?: boolean;
}

interface JarRecord {
  id: string;
  run_id: string;
  number: number;
  began_at: string;
  ended_at: string | null;
  volume_l: number | null;
  volume_temperature_c?: number | null;
  mass_kg: number | null;
  reading_abv: number | null;
  temperature_c: number | null;
  cut: Cut | null;
  text: string;
  smell: string[];
  lot_id: string | null;
  version: number;
  abv?: number | null;
  abv_error?: number | null;
  pure_alcohol_l?: number | null;
  running_pure_alcohol_l?: number | null;
  share_of_charge?: number | null;
  waiting?: boolean;
}

interface RunRecord {
  id: string;
  vessel_id: string;
  vessel?: string;
  batch: string;
  purpose: string;
  started_at: string;
  ended_at: string | null;
  charge: { volume_l: number | null; abv: number | null; pure_alcohol_l: number | null } | null;
  marks: MarkRecord[];
  jars: JarRecord[];
}

interface Proposal {
  kind: MarkKind;
  at: string;
  why: string;
  power_kw?: number | null;
  id?: string;
}

interface NowRun extends RunRecord {
  fitting_mark: MarkKind | null;
  open_jar: JarRecord | null;
  next_number: number;
  expected_abv: number | null;
  expected_why?: string | null;
  liquid_temperature_c: number | null;
  liquid_temperature_from?: string | null;
  volume_step_l: number | null;
  rate_ml_min: number | null;
  jar_full_at: string | null;
  jar_volume_l?: number | null;
  running_pure_alcohol_l: number | null;
  share_of_charge: number | null;
  proposals: Proposal[];
}
