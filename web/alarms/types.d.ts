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
