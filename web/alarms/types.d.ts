// What the service says of who is called, of the rules and of the past. Read by the type checker only.

interface NoticeTarget {
  id: string;
  version: number;
  name: string;
  address_kind: string;
  least_priority: AlarmPriority;
  after_min: number;
  waiting: number;
  last_sent_at: string | null;
  problem: string;
}

interface AlarmReach {
  version: number;
  link_address: string;
  heartbeat_address: string;
  heartbeat_every_s: number;
  heartbeat: { beats: number; problem: string };
  sounder: { problem: string };
}

interface AlarmCaution {
  says: string;
  vessel_id: string | null;
}

/** One change of an alarm, as it was kept. */
interface AlarmHappening {
  id: string;
  number: number;
  rule: string;
  name: string;
  where: string;
  at: string;
  what: string;
  who: string;
  why: string;
  value: number | null;
  limit: number | null;
  unit: string;
  priority: AlarmPriority | "event";
  shelved_until: string | null;
}

interface AlarmLimits {
  limit: number;
  deadband: number;
  on_delay_s: number;
  off_delay_s: number;
}

interface AlarmCondenser extends AlarmLimits {
  condenser_id: string;
  name: string;
  own: boolean;
  version: number;
  reason: string;
  who: string;
  changed_at: string | null;
}

interface AlarmRule extends AlarmLimits {
  rule: string;
  name: string;
  priority: AlarmPriority | null;
  side: "above" | "below";
  unit: string;
  least: number;
  most: number;
  declared: AlarmLimits;
  alarms: number;
  not_known: number;
  delays: { period_s: number; delay_s: number }[];
  stages: string[] | null;
  basis: string;
  latching: boolean;
  window_s: number;
  cause: string;
  consequence: string;
  first_action: string;
  time_to_act_s: number;
  version: number;
  reason: string;
  who: string;
  changed_at: string | null;
  condensers: AlarmCondenser[];
}

interface BacktestRun {
  batch: string;
  vessel: string;
  stage: string;
  began_at: string;
  ended_at: string | null;
  as_set: string[];
  as_tried: string[];
}

interface AlarmBacktest {
  runs: BacktestRun[];
  not_known: string;
}

interface BusyAlarm {
  rule: string;
  name: string;
  where: string;
  times: number;
}

interface AlarmLoudness {
  days: number;
  alarms: number;
  per_10_min: number;
  most_in_10_min: number;
  acceptable_per_10_min: number;
  manageable_per_10_min: number;
  floods: { began_at: string; ended_at: string; alarms: number }[];
  chattering: BusyAlarm[];
  standing_over_24_h: BusyAlarm[];
  most_frequent: BusyAlarm[];
  share_percent: Record<AlarmPriority, number>;
  target_percent: Record<AlarmPriority, number>;
}
