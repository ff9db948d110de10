// What the service says of the doors. Read by the type checker only.

type RoleWord = "watch" | "operate" | "own";

interface Me {
  name: string;
  role: RoleWord | "anyone";
  session_id: string | null;
  has_passphrase: boolean;
}

interface PersonRecord {
  id: string;
  name: string;
  role: RoleWord;
  version: number;
  made_at: string;
}

interface SessionRecord {
  id: string;
  person_id: string | null;
  name: string;
  role: RoleWord | null;
  made_at: string;
  seen_at: string;
  until_at: string;
}

interface TokenRecord {
  id: string;
  name: string;
  scopes: string[];
  made_at: string;
  seen_at: string | null;
  until_at: string | null;
}

interface LinkRecord {
  id: string;
  name: string;
  role: RoleWord;
  made_at: string;
  until_at: string;
  address: string | null;
}

interface DoorEventRecord {
  at: string;
  kind: string;
  who: string;
  about: string;
  address: string;
}
