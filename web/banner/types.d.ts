// What the service says of alarms. Read by the type checker only.

type AlarmPriority = "low" | "medium" | "high";

/** One alarm as it stands, or lies aside. */
interface Alarm {
  key: string;
  rule: string;
  name: string;
  place: string;
  vessel: string;
  state: string;
  priority: AlarmPriority;
  since: string | null;
  value: number | null;
  unit: string;
  limit: number | null;
  cause: string;
  consequence: string;
  first_action: string;
  time_to_act_s: number;
  covers: string[];
  shelved_until: string | null;
  acknowledged_by: string | null;
  latching: boolean;
  longest_shelf_min: number;
}

/** What a vessel is doing, and how that is known. */
interface AlarmStage {
  vessel_id: string;
  vessel: string;
  stage: string | null;
  source: "occupancy" | "guessed" | "nobody";
  phase: string | null;
  water_proven: boolean | null;
  at_the_still_min: number | null;
  mash_cooked: boolean | null;
}

/** The body of /api/alarms and of the event `alarms`. */
interface AlarmsNow {
  now: Alarm[];
  aside: Alarm[];
  sounding: boolean;
  chirping: boolean;
  highest: AlarmPriority | null;
  stages: AlarmStage[];
  judged_until: string | null;
}
