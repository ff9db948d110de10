// What the service says of the house: vessels, probes, who sits where. Read by the type checker only.

interface Standing {
  id: string;
  version: number;
}

interface VesselRecord extends Standing {
  name: string;
  kind: string;
  volume_l: number | null;
  material: string | null;
  insulation: string | null;
  heat_loss_w_per_k: number | null;
  heat_source: string;
  power_kw: number | null;
  element_cover_l: number | null;
}

interface CondenserRecord extends Standing {
  vessel_id: string;
  kind: string;
  name: string;
  flow_l_min: number | null;
  duty_kw: number | null;
}

interface PlaceRecord extends Standing {
  name: string;
  vessel_id: string | null;
  condenser_id: string | null;
  head_probe: string | null;
}

interface KnownPlace {
  name: string;
  label: string;
  kinds: string[];
  on_condenser: boolean;
}

interface OccupancyRecord extends Standing {
  vessel_id: string;
  batch: string;
  stage: string;
  started_at: string;
  ended_at: string | null;
}

interface PlacementRecord extends Standing {
  place_id: string;
  probe_id: string;
  quantity: string;
  effective_at: string;
  ended_at: string | null;
}

interface ProbeReading {
  quantity: string;
  unit: string;
  grade: string | null;
  last_good_at: string | null;
  bad_counts: Record<string, number>;
  bad_counts_day: Record<string, number>;
  says: string;
  place_id: string | null;
  place: string | null;
  vessel: string | null;
  calibration: { id: string; slope: number; offset: number; method: string; effective_at: string } | null;
}

interface ProbeRecord {
  id: string;
  name: string | null;
  retired: boolean;
  version: number;
  kind: string;
  master: string;
  resolution_bits: number | null;
  supply: string;
  likely_copy: boolean;
  warnings: string[];
  readings: ProbeReading[];
}

interface SiteRecord extends Site {
  owner: string | null;
  lawful_basis: string | null;
  version: number;
}

interface GuideStep {
  name: string;
  title: string;
  state: "done" | "skipped" | "open";
  says: string;
  caution: string | null;
}

interface GuideRecord {
  steps: GuideStep[];
  next: string | null;
  done: boolean;
  caution: string;
}
