// Where this browser keeps what waits, so that it outlasts the tab; works on plain http too. A
// lease lets one tab send at a time.

const NAME = "wormtub";
const VERSION = 1;
const LEASE_MS = 15_000;

/** @typedef {import("./queue.js").Waiting} Waiting */

/**
 * @typedef {object} Keeping
 * @property {boolean} lasting whether it outlasts the tab
 * @property {() => Promise<Waiting[]>} all
 * @property {(entries: readonly Waiting[]) => Promise<void>} put
 * @property {(id: string) => Promise<void>} drop
 * @property {(tab: string, now_ms: number) => Promise<boolean>} lease
 * @property {(tab: string) => Promise<void>} release
 */

/** @returns {Promise<Keeping>} */
export async function openKeeping() {
  try {
    return lasting(await open());
  } catch (error) {
    console.info("this browser keeps nothing for this page", error);
    return passing();
  }
}

/** @returns {Promise<IDBDatabase>} */
function open() {
  const request = indexedDB.open(NAME, VERSION);
  request.addEventListener("upgradeneeded", () => {
    request.result.createObjectStore("waiting", { keyPath: "id" });
    request.result.createObjectStore("lease", { keyPath: "name" });
  });
  return answerOf(request);
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
function answerOf(request) {
  return new Promise((resolve, reject) => {
    request.addEventListener("success", () => resolve(request.result));
    request.addEventListener("error", () => reject(request.error ?? new Error("refused")));
  });
}

/** On the disk before it is called kept. @param {IDBDatabase} base @param {string} name @param {(store: IDBObjectStore) => void} act @returns {Promise<void>} */
function written(base, name, act) {
  return new Promise((resolve, reject) => {
    const transaction = base.transaction(name, "readwrite", { durability: "strict" });
    transaction.addEventListener("complete", () => resolve());
    for (const end of ["error", "abort"]) transaction.addEventListener(end, () => reject(transaction.error ?? new Error("refused")));
    act(transaction.objectStore(name));
  });
}

/** @param {IDBDatabase} base @returns {Keeping} */
function lasting(base) {
  return {
    lasting: true,
    all: () => answerOf(base.transaction("waiting").objectStore("waiting").getAll()),
    put: (entries) => written(base, "waiting", (store) => entries.forEach((entry) => store.put(entry))),
    drop: (id) => written(base, "waiting", (store) => store.delete(id)),
    async lease(tab, now_ms) {
      let mine = false;
      await written(base, "lease", (store) => {
        const asked = store.get("send");
        asked.addEventListener("success", () => {
          const held = asked.result;
          mine = !held || held.tab === tab || held.until_ms < now_ms || held.until_ms > now_ms + 2 * LEASE_MS;
          if (mine) store.put({ name: "send", tab, until_ms: now_ms + LEASE_MS });
        });
      });
      return mine;
    },
    release: (tab) => written(base, "lease", (store) => {
      const asked = store.get("send");
      asked.addEventListener("success", () => asked.result?.tab === tab && store.delete("send"));
    }),
  };
}

/** Where a browser refuses to keep anything: until the tab is closed. @returns {Keeping} */
function passing() {
  /** @type {Map<string, Waiting>} */
  const held = new Map();
  return {
    lasting: false,
    all: async () => [...held.values()],
    put: async (entries) => entries.forEach((entry) => held.set(entry.id, entry)),
    drop: async (id) => void held.delete(id),
    lease: async () => true,
    release: async () => {},
  };
}
