// What the service says when it looks back: runs, comparisons, references. Read by the type checker only.

type UsedBasis = "measured" | "marked" | "plate" | "declared" | "unknown";

interface Gap {
  about: string;
  why: string;
}

interface ReviewKey {
  name: string;
  label: string;
  unit: string;
  decimals: number;
}

interface ReviewedRow {
  id: string;
  vessel_id: string;
  vessel: string | null;
  batch: string;
  batch_id: string | null;
  purpose: string;
  purpose_name: string;
  started_at: string;
  ended_at: string | null;
  is_on: boolean;
  jars: number;
  is_expected: boolean;
  energy_basis: UsedBasis;
  numbers: Record<string, number | null>;
}

interface ReviewedRuns {
  total: number;
  keys: ReviewKey[];
  runs: ReviewedRow[];
}

interface Used {
  amount: number | null;
  unit: string;
  basis: UsedBasis;
  says: string;
}

interface Came {
  volume_l: number;
  pure_alcohol_l: number | null;
  pure_alcohol_error_l: number | null;
  abv: number | null;
  is_expected: boolean;
  jars: number;
  share_of_charge: number | null;
  share_of_collected: number | null;
}

interface ReviewMoment {
  key: string;
  name: string;
  at: string;
  basis: "entered" | "marked" | "seen" | "jars";
  why: string;
  pot_c: number | null;
  head_c: number | null;
}

interface ReviewPhase {
  key: string;
  name: string;
  from_at: string;
  to_at: string;
  minutes: number;
  is_open: boolean;
  collected: Came | null;
  splits_jar: boolean;
  rate_ml_min: number | null;
  energy: Used;
}

interface ReviewJar extends JarRecord {
  minutes: number | null;
  rate_ml_min: number | null;
  running_volume_l: number | null;
  share_of_collected: number | null;
}

interface AlarmSpell {
  event_id: string;
  rule: string;
  name: string;
  where: string;
  priority: string;
  came_at: string;
  went_at: string | null;
  acknowledged_at: string | null;
  acknowledged_by: string | null;
  value: number | null;
  limit: number | null;
  unit: string;
  says: string;
}

interface PowerChange {
  at: string;
  power_kw: number | null;
  before_kw: number | null;
  text: string;
  mark_id: string;
}

interface Jump {
  place: string;
  from_at: string;
  to_at: string;
  from_c: number;
  to_c: number;
  size_k: number;
  fastest_k_min: number;
  phase: string | null;
  is_usual: boolean;
  followed: { kind: string; at: string; after_s: number; says: string }[];
  says: string;
}

interface ReviewSilence {
  place: string | null;
  from_at: string;
  to_at: string;
  minutes: number;
}

interface EstimateScore {
  quantity: string;
  name: string;
  unit: string;
  n: number;
  bias: number | null;
  mean_absolute_error: number | null;
  decimals: number;
  inside_band: number | null;
  before_end: string | null;
  says: string;
}

interface RunFacts {
  id: string;
  version: number;
  vessel_id: string;
  vessel: string | null;
  batch: string;
  batch_id: string | null;
  purpose: string;
  purpose_name: string;
  shows_strength: boolean;
  started_at: string;
  ended_at: string | null;
  is_on: boolean;
  from_ms: number;
  to_ms: number;
  duration_min: number;
  who: string;
  time_zone: string;
  clock_changes: { at: string; by_min: number }[];
  charge: Holding | null;
  fill_fraction: number | null;
}

interface RunReview {
  run: RunFacts;
  summary: { about: string; text: string }[];
  moments: ReviewMoment[];
  phases: ReviewPhase[];
  cuts: { cut: Cut | null; collected: Came }[];
  totals: {
    volume_l: number;
    pure_alcohol_l: number | null;
    pure_alcohol_error_l: number | null;
    is_expected: boolean;
    jars_without_volume: number;
    without_jars: Came | null;
    share_of_charge: number | null;
  };
  marks: MarkRecord[];
  jars: ReviewJar[];
  alarms: AlarmSpell[];
  power_changes: PowerChange[];
  notes: MarkRecord[];
  series: {
    strengths: { at_ms: number; abv: number; abv_error: number; jar: number }[];
    rates: { from_ms: number; to_ms: number; ml_min: number; jar: number }[];
    collected: { at_ms: number; volume_l: number | null; pure_alcohol_l: number | null; is_expected: boolean }[];
  };
  places: string[];
  jumps: Jump[];
  silences: ReviewSilence[];
  energy: Used;
  energy_kwh_per_l: number | null;
  water: Used;
  water_l_per_l: number | null;
  estimates: { model_versions: number[]; scores: EstimateScore[]; says: string } | null;
  gaps: Gap[];
}

interface AlignedSegment {
  x0: number;
  dx: number;
  counts_per_unit: number;
  lo: (number | null)[];
  hi: (number | null)[];
  breaks: number[];
}

interface AlignedLine {
  key: string;
  place_id: string | null;
  place: string;
  quantity: string;
  unit: string;
  segments: AlignedSegment[];
}

interface AlignedMark {
  key: string;
  name: string;
  at: string;
  x: number | null;
}

interface AlignedRun {
  run: ReviewedRow;
  zero_at: string | null;
  why: string | null;
  is_reference: boolean;
  marks: AlignedMark[];
  lines: AlignedLine[];
  strengths: { x: number; abv: number; abv_error: number; jar: number }[];
  collected: { x: number; volume_l: number | null; pure_alcohol_l: number | null }[];
}

interface Comparison {
  align: string;
  axis: { label: string; unit: string };
  runs: AlignedRun[];
  table: (ReviewKey & { values: (number | null)[]; differences: (number | null)[] })[];
  gaps: (Gap & { run_id: string })[];
}

interface ReferenceRecord {
  id: string;
  version: number;
  vessel_id: string;
  vessel: string | null;
  purpose: string;
  run_id: string;
  run: ReviewedRow | null;
  pinned_at: string;
}

interface ReferenceBehind {
  run_id: string;
  reference: ReferenceRecord | null;
  why: string | null;
  aligned_by: string | null;
  shift_ms: number | null;
  marks: AlignedMark[];
  lines: AlignedLine[];
}

interface BatchRow {
  id: string;
  name: string;
  kind_of_wash: string;
  note: string;
  began_at: string;
  stage: string | null;
  runs: number;
  numbers: Record<string, number | null>;
}

interface LotRow {
  id: string;
  kind: string;
  name: string;
  batch: string | null;
  vessel: string | null;
  since: string;
  origin: string;
  came_from: string[];
  volume_l: number | null;
  abv: number | null;
  pure_alcohol_l: number | null;
}

interface CellarAnswer {
  total: number;
  volume_l: number;
  pure_alcohol_l: number;
  lots: LotRow[];
}

interface BatchesAnswer {
  total: number;
  keys: ReviewKey[];
  batches: BatchRow[];
}

interface BatchLink {
  batch_id: string;
  name: string;
  learned: string;
  who: string;
  at: string;
}

interface BatchStory {
  batch: BatchRow;
  keys: ReviewKey[];
  stages: { key: string; name: string; from_at: string | null; to_at: string | null; vessels: string[]; figures: (ReviewKey & { value: number })[]; says: string[] }[];
  runs: ReviewedRow[];
  run_keys: ReviewKey[];
  follows: BatchLink | null;
  followed_by: BatchLink[];
  gaps: Gap[];
}

interface ImportedRun {
  run_id: string;
  batch: string;
  left_out: string[]; // columns of other vessels
}

interface BatchPlan {
  batch_id: string;
  batch: string;
  ingredients: { kind: string; name: string; mass_kg: number | null; volume_l: number | null; temperature_c: number | null; percent: number | null; after_h: number | null }[];
  rests: { name: string; low_c: number; high_c: number; planned_min: number | null; after_h: number | null }[];
  original_sg: number | null;
  final_sg: number | null;
  ferment_days: number | null;
  runs: {
    purpose: string;
    purpose_name: string;
    vessel: string | null;
    run_id: string;
    charge_volume_l: number | null;
    charge_abv: number | null;
    powers_kw: number[];
    hearts_from_abv: number | null;
    tails_from_abv: number | null;
    hearts_from_share: number | null;
    tails_from_share: number | null;
    checklist: string[];
  }[];
  limits: { rule: string; name: string; limit: number; unit: string; reason: string; holds: boolean; limit_now: number }[];
  gaps: Gap[];
}

interface FollowedPlan {
  batch_id: string;
  follows: BatchLink | null;
  plan: BatchPlan | null;
  why: string | null;
}

interface Trends {
  keys: ReviewKey[];
  runs: { run: ReviewedRow; coolant_out_most_c: number | null; coolant_margin_k: number | null }[];
  batch_keys: ReviewKey[];
  batches: BatchRow[];
  coolant_limit_c: number | null;
  drift: { run_id: string; vessel_id: string; vessel: string | null; place: string; place_id: string; probe_id: string; probe: string; from_at: string; to_at: string; measured_c: number; water_c: number; difference_k: number; pressure_hpa: number; pressure_basis: "barometer" | "entered" | "altitude"; water_error_k: number }[];
  gaps: Gap[];
}
