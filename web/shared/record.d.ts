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
  is_gone?: boolean;
  left_volume_l?: number | null;
  version: number;
  volume_at_20_c_l?: number | null;
  abv?: number | null;
  abv_error?: number | null;
  abv_basis?: "read" | "between" | "expected" | null;
  withdrawn?: boolean;
  pure_alcohol_l?: number | null;
  running_pure_alcohol_l?: number | null;
  share_of_charge?: number | null;
  waiting?: boolean;
}

interface RunSummary {
  id: string;
  vessel_id: string;
  vessel?: string | null;
  batch: string;
  purpose: string;
  started_at: string;
  ended_at: string | null;
}

interface Holding {
  volume_l: number | null;
  volume_error_l?: number | null;
  abv: number | null;
  abv_error?: number | null;
  pure_alcohol_l: number | null;
  pure_alcohol_error_l?: number | null;
}

interface RunRecord extends RunSummary {
  charge: Holding | null;
  fill_fraction?: number | null;
  shows_strength?: boolean;
  marks: MarkRecord[];
  jars: JarRecord[];
}

interface LotRecord {
  id: string;
  kind: string;
  name: string;
  vessel_id: string | null;
  batch: string | null;
  origin: string;
  version: number;
  now: Holding | null;
  waiting?: boolean;
}

interface LotView extends LotRecord {
  at: string;
  withdrawn: boolean;
  measures: MeasureRecord[];
  cask: CaskRecord | null;
}

/** A cask as it was weighed last. */
interface CaskRecord {
  lot_id: string;
  weighed_at: string;
  lost_pure_alcohol_l: number | null;
  loss_percent_per_year: number | null;
  loss_why: string | null;
}

/** How much a liquid was found to be, as it was read. */
interface Gauging {
  volume_l: number | null;
  volume_temperature_c: number | null;
  volume_error_l: number | null;
  mass_kg: number | null;
  reading_abv: number | null;
  temperature_c: number | null;
  instrument: string | null;
  reading_error_abv: number | null;
}

interface MeasureRecord extends Gauging {
  id: string;
  version: number;
  lot_id: string;
  at: string;
  at_20_c: Holding | null;
}

interface TransferRecord extends Gauging {
  id: string;
  version: number;
  kind: string;
  from_lot: string | null;
  to_lot: string | null;
  at: string;
  text: string;
  at_20_c: Holding;
}

interface GraphNode {
  id: string;
  is_a: "lot" | "jar" | "run";
  kind: string;
  name: string;
  batch: string | null;
}

interface GraphRecord {
  about: string;
  nodes: GraphNode[];
  edges: { from_id: string; to_id: string; transfer: string | null }[];
  transfers: TransferRecord[];
}

interface ProofingRecord {
  id: string;
  lot_id: string;
  name: string;
  began_at: string;
  target_abv: number;
  volume_l: number | null;
  abv: number | null;
  why: string | null;
  reached: boolean;
  water_volume_l: number | null;
  water_mass_kg: number | null;
  steps: { water_volume_l: number; abv: number }[];
  additions: { id: string; at: string; volume_l: number | null; mass_kg: number | null; text: string }[];
  remedy: { lot_id: string | null; name: string | null; stronger_abv: number | null; stronger_volume_l: number | null; excess_water_volume_l: number | null; advice: string } | null;
}

interface JarVesselRecord {
  id: string;
  version: number;
  number: number;
  tare_kg: number | null;
  volume_l: number | null;
}

interface BatchRecord {
  id: string;
  name: string;
  kind_of_wash: string;
  on_grain: boolean | null;
  note: string;
  version: number;
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
  expected_reading_abv?: number | null;
  offered_volume_l?: number | null;
  offered?: { jar_id: string; volume_l: number }[];
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

interface HeldRecord {
  id: string;
  vessel_id: string;
  vessel: string | null;
  stage: string;
  is_run: boolean;
  started_at: string;
  ended_at: string | null;
}

interface BatchView extends BatchRecord {
  began_at: string;
  occupancies: HeldRecord[];
  lot_ids: string[];
}

interface EntryRecord {
  id: string;
  version: number;
  vessel_id: string | null;
  lot_id: string | null;
  kind: string;
  at: string;
  name: string;
  mass_kg: number | null;
  volume_l: number | null;
  temperature_c: number | null;
  reading_sg: number | null;
  sg: number | null;
  abv?: number | null;
  ph: number | null;
  low_c: number | null;
  high_c: number | null;
  count: number | null;
  starch_left: boolean | null;
  smell: string[];
  text: string;
}

interface RestRecord {
  entry_id: string;
  planned_min: number | null;
  in_range_min: number;
  unknown_min: number;
}

interface StagesRecord {
  bill_kg: number;
  expected: { pure_alcohol_l: number; pure_alcohol_low_l: number; pure_alcohol_high_l: number; abv: number } | null;
  expected_why: string | null;
  rests: RestRecord[];
  ferment: { done: boolean; stuck: boolean; sentence: string } | null;
  casks: CaskRecord[];
  entries: EntryRecord[];
}
