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
  unit: string | null;
  priority: AlarmPriority | "event";
  shelved_until: string | null;
}

interface AlarmHistory {
  events: AlarmHappening[];
  more: boolean;
}

interface AlarmLimits {
  limit: number;
  deadband: number;
  on_delay_s: number;
  off_delay_s: number;
}

interface AlarmRule extends AlarmLimits {
  rule: string;
  name: string;
  priority: AlarmPriority | null;
  side: "above" | "below";
  unit: string;
  least: number;
  most: number;
  shipped: AlarmLimits;
  stages: string[] | null;
  basis: string;
  latching: boolean;
  window_s: number;
  cause: string;
  consequence: string;
  first_action: string;
  time_to_act_s: number | null;
  version: number;
  reason: string | null;
  changed_by: string | null;
  changed_at: string | null;
}

interface BacktestRun {
  batch: string;
  vessel: string;
  stage: string;
  started_at: string;
  ended_at: string | null;
  would: { at: string; value: number | null }[];
  did: { at: string; value: number | null }[];
}

interface AlarmBacktest {
  runs: BacktestRun[];
}

interface LoudAlarm {
  name: string;
  where: string;
  priority: AlarmPriority;
}

interface AlarmLoudness {
  count: number;
  mean_10_min: number;
  peak_10_min: number;
  days: { date: string; count: number; peak_10_min: number }[];
  floods: { from_at: string; to_at: string; count: number }[];
  chattering: (LoudAlarm & { count: number })[];
  standing: (LoudAlarm & { since: string })[];
  most_frequent: (LoudAlarm & { count: number })[];
  priorities: Record<AlarmPriority, number>;
}
