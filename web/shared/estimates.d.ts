// What the service says of estimates. Read by the type checker only.

interface EstimateNow {
  quantity: string;
  unit: string;
  value: number | null;
  low: number | null;
  high: number | null;
  low_68: number | null;
  high_68: number | null;
  why: string | null;
  rests_on?: string[];
  narrows?: string[];
}

interface VesselEstimates {
  vessel_id: string;
  vessel: string;
  run_id: string;
  batch: string;
  stage: string;
  kind: "still" | "ferment" | "mash";
  end_abv: number | null;
  end_left_percent: number | null;
  slot: number;
  at: string;
  contradictions: string[];
  estimates: EstimateNow[];
}

interface EstimatesMessage {
  vessel_ids: string[];
  vessels: VesselEstimates[];
}

interface IssuedRun {
  run_id: string;
  vessel_id: string;
  at_ms: number[];
  value: (number | null)[];
  low: (number | null)[];
  high: (number | null)[];
}

interface RunEnd {
  spout_abv: number | null;
  left_percent: number | null;
  seal_hpa: number | null;
  vacuum: boolean;
}

interface RunEndsRecord {
  strip: RunEnd;
  cut: RunEnd;
  version: number;
}
