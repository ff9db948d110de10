// What the service says of alarms. Read by the type checker only.

type AlarmPriority = "low" | "medium" | "high";

/** One alarm as it stands. */
interface Alarm {
  key: string;
  rule: string;
  name: string;
  place: string | null;
  vessel: string | null;
  state: string;
  priority: AlarmPriority;
  since: string;
  value: number | null;
  unit: string | null;
  limit: number | null;
  cause: string;
  consequence: string;
  first_action: string;
  time_to_act_s: number | null;
  covers: string[];
  shelved_until: string | null;
  acknowledged_by: string | null;
}

interface AlarmStage {
  vessel: string;
  stage: string;
  source: "occupancy" | "guessed";
  phase: string | null;
}

/** The body of /api/alarms and of the event `alarms`. */
interface AlarmsNow {
  now: Alarm[];
  sounding: boolean;
  highest: AlarmPriority | null;
  stages: AlarmStage[];
}
