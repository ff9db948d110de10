import assert from "node:assert/strict";
import { test } from "node:test";
import { after, differences, inOrder, insisted, mended, nextOf, reached, readRefusal, undoing } from "../../web/shared/queue.js";
import { uuid7 } from "../../web/shared/uuid7.js";
import { randomness, T0 } from "./helpers.mjs";

let made = 0;
const entry = (subject, more = {}) => {
  const id = uuid7(T0 + (made += 1));
  return { id, subject: subject ?? id, scope: null, kind: "mark", method: "POST", path: "x", body: {}, label: "", made_ms: T0, attempts: 0, trouble: null, ...more };
};
const refusal = (status, now = null) => ({ status, sentence: "no", field: null, now });

test("ids are of version 7 and sort by when they were made, whatever the clock does", () => {
  const ids = Array.from({ length: 9000 }, (_, index) => uuid7(T0 + 1e9 - Math.floor(index / 5000)));
  assert.deepEqual([...ids].sort(), ids);
  assert.equal(new Set(ids).size, ids.length);
  assert.match(ids[0], /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.equal(parseInt(ids[0].replaceAll("-", "").slice(0, 12), 16), T0 + 1e9);
});

test("the oldest goes first, and a refused one holds up only its own record", () => {
  const [a, b, c] = [entry("m1"), entry("m2"), entry("m1")];
  assert.equal(nextOf([c, b, a]), a);
  const refused = after([a, b, c], a.id, readRefusal(refusal(422), a));
  assert.equal(nextOf(refused).subject, "m2");
  assert.equal(nextOf(after(refused, b.id, { kind: "taken", record: null })), null);
  const put_right = refused.map((each) => (each.id === a.id ? mended(each, { text: "short" }) : each));
  assert.deepEqual([nextOf(put_right).id, nextOf(put_right).body], [a.id, { text: "short" }]);
});

test("a silent service, a busy one and a sign-in keep everything", () => {
  const a = entry("m1");
  assert.equal(after([a], a.id, { kind: "silent" })[0].attempts, 1);
  for (const status of [401, 403, 429, 503]) assert.equal(readRefusal(refusal(status), a).kind, "held");
  assert.equal(readRefusal(refusal(500), a).kind, "refused");
});

test("changes of one record stand on each other", () => {
  const [made_here, first, second] = [entry("m1"), entry("m1", { method: "PUT", body: { version: 1 } }), entry("m1", { method: "PUT", body: { version: 1 } })];
  let left = after([made_here, first, second], made_here.id, { kind: "taken", record: { version: 1 } });
  left = after(left, first.id, { kind: "taken", record: { version: 2 } });
  assert.deepEqual(left.map(({ body }) => body.version), [2]);
});

test("a change stands on what was seen, not on what another made before a lost answer came", () => {
  const change = (version, more = {}) => entry("m1", { method: "PUT", body: { version }, ...more });
  const left = (sent, version, next) => after([sent, next], sent.id, { kind: "taken", record: { version } })[0].body.version;
  assert.equal(left(entry("m1", { attempts: 1 }), 2, change(1)), 1);
  assert.equal(left(change(1, { attempts: 1 }), 3, change(1)), 2);
  assert.equal(left(change(3, { attempts: 1 }), 3, change(3)), 3); // it stood already
  assert.equal(left(change(1, { attempts: 1 }), 3, change(3)), 3); // the other's was before the person
  assert.deepEqual([reached(change(1), { version: 3 }), reached(change(1), null), reached(change(0), { version: 1 })], [2, undefined, 1]);
});

test("what had arrived before its answer was lost is no conflict; another's change is", () => {
  const at = new Date(T0).toISOString();
  const put = entry("m1", { method: "PUT", attempts: 1, body: { at, text: "a", version: 1 } });
  const now = { at: at.replace(".000Z", "+00:00"), text: "a", version: 2 };
  assert.equal(readRefusal(refusal(409, now), put).kind, "taken");
  assert.equal(readRefusal(refusal(409, now), { ...put, attempts: 0 }).kind, "refused");
  const met = { ...put, trouble: refusal(409, { ...now, text: "b" }) };
  assert.deepEqual(differences(met), [{ name: "text", mine: "a", theirs: "b" }]);
  assert.deepEqual([insisted(met).body.version, insisted(met).trouble], [2, null]);
  assert.equal(readRefusal(refusal(404), entry("m1", { method: "DELETE", attempts: 1 })).kind, "taken");
});

test("what was never sent is not sent; what may have arrived is withdrawn", () => {
  const a = entry("m1");
  assert.equal(undoing([a], a.id), "drop");
  assert.equal(undoing([{ ...a, attempts: 1 }], a.id), "follow");
  assert.equal(undoing([], a.id), "follow");
});

test("whatever answers come, nothing is lost and nothing is kept twice", () => {
  const random = randomness(5);
  const stored = new Map();
  let waiting = [];
  for (let step = 0; step < 3000; step += 1) {
    if (random() < 0.4) waiting = inOrder([...waiting, entry(null, { body: { step } })]);
    const next = nextOf(waiting);
    if (!next) continue;
    const luck = random();
    if (luck < 0.75) stored.set(next.id, (stored.get(next.id) ?? 0) + (stored.has(next.id) ? 0 : 1)); // idempotent by id
    if (luck < 0.5) waiting = after(waiting, next.id, { kind: "taken", record: { version: 1 } });
    else if (luck < 0.95) waiting = after(waiting, next.id, { kind: "silent" });
    else waiting = after(waiting, next.id, readRefusal(refusal(422), next)).map((each) => (each.id === next.id ? mended(each, {}) : each));
    assert.deepEqual(waiting.map(({ id }) => id), [...waiting.map(({ id }) => id)].sort());
  }
  const kept = new Set([...stored.keys(), ...waiting.map(({ id }) => id)]);
  assert.ok(kept.size > 900);
  assert.ok([...stored.values()].every((count) => count === 1));
});

test("what a page adds after a late answer stands on its own change, not on another's", { timeout: 10_000 }, async (t) => {
  t.mock.method(globalThis, "fetch", async () => new Response(JSON.stringify({ id: "m1", version: 3 }), { headers: { "content-type": "application/json" } }));
  Object.assign(globalThis, { addEventListener() {}, document: { addEventListener() {}, baseURI: "http://localhost/" }, window: globalThis });
  const kept = new Map();
  const keeping = { lasting: false, all: async () => [...kept.values()], put: async (some) => some.forEach((one) => kept.set(one.id, one)), drop: async (id) => kept.delete(id), lease: async () => true, release: async () => {} };
  const { openWaiting } = await import("../../web/shared/waiting.js");
  const queue = await openWaiting({ changed() {}, taken() {} }, Promise.resolve(keeping));
  t.after(() => queue.news.close());
  const sent = async () => {
    while (queue.sending) await new Promise(setImmediate);
  };
  const wish = { subject: "m1", kind: "mark", method: "PUT", path: "marks/m1", label: "", body: { version: 1 } };
  await queue.add(wish);
  await sent();
  const next = await queue.add(wish);
  await sent();
  assert.equal(next.body.version, 2);
});
