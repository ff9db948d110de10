import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/probes/texts.js";
import "../../web/simulation/texts.js";
import "../../web/vessels/texts.js";
import { deedsWith, moveProbe, placeChoices, quantityOf } from "../../web/probes/drawer.js";
import { refusalText, tellProbes } from "../../web/probes/tell.js";
import "../../web/record/texts.js";
import { troubleText } from "../../web/record/waiting_list.js";
import { labelled, timed } from "../../web/shared/entry.js";
import { isHereOnly } from "../../web/shared/here.js";
import { momentOf, stampOf } from "../../web/shared/stamp.js";
import { chosenBody, orderOf, standingText } from "../../web/simulation/orders.js";
import { pieces } from "../../web/vessels/ribbon.js";
import { heldText, holding, tellVessels } from "../../web/vessels/tell.js";
import { DAY, T0, textOf } from "./helpers.mjs";

const plain = (parts) => parts.map(({ text }) => text).join("");
const probe = (id, place, more = {}) => ({
  id, name: null, retired: false, warnings: [],
  readings: [{ quantity: "temperature_c", grade: "ok", place_id: place, place, vessel: null, calibration: null }],
  ...more,
});
const held = (batch, started_at, ended_at = null) => ({ vessel_id: "v", batch, stage: "mash", started_at, ended_at });
const iso = (ms) => new Date(ms).toISOString();

test("the probes' sentence says what wants a hand first", () => {
  assert.equal(tellProbes([]).next, "wait");
  const loose = tellProbes([probe("28-a", "pot"), probe("28-b", null)]);
  assert.equal(plain(loose.says), "2 probes are on the bus; one has no place yet. All read well.");
  assert.equal(loose.next, "warm");
  assert.equal(tellProbes([probe("28-a", "pot")]).next, "calibrate");
  const gone = probe("28-c", null, { retired: true });
  assert.equal(tellProbes([probe("28-a", "pot"), gone]).next, "calibrate");
  const other = (id, quantity) => probe(id, null, { readings: [{ quantity, grade: "ok", place_id: null, place: null, vessel: null, calibration: null }] });
  const beside = (...others) => plain(tellProbes([probe("28-a", "pot"), probe("28-b", "head"), ...others]).says);
  assert.equal(beside(other("iio-a", "pressure_hpa")), "2 probes are on the bus, each at its place. Beside them is a barometer. All read well.");
  assert.match(beside(other("iio-a", "mass_kg")), /Beside them is one other sensor\./);
  assert.match(beside(other("iio-a", "mass_kg"), other("iio-b", "pressure_hpa")), /Beside them are 2 other sensors\./);
});

test("a field's moment goes by the site's clock, and comes back the same", () => {
  assert.equal(momentOf("2026-07-01T12:30", "Europe/Copenhagen"), "2026-07-01T10:30:00.000Z");
  for (const zone of ["UTC", "America/St_Johns", "Asia/Kathmandu"]) {
    assert.equal(Date.parse(momentOf(stampOf(T0, zone), zone)), T0);
  }
  assert.equal(momentOf("soon", "UTC"), "soon");
});

test("an occupancy holds from its start until its end", () => {
  const all = [held("rye 1", iso(T0), iso(T0 + DAY)), held("rye 2", iso(T0 + DAY))];
  assert.equal(holding(all, "v", T0 - 1), undefined);
  assert.equal(holding(all, "v", T0).batch, "rye 1");
  assert.equal(holding(all, "v", T0 + DAY).batch, "rye 2");
});

test("ribbons are cut to the time shown", () => {
  const [first, second] = pieces([held("rye 2", iso(T0)), held("rye 1", iso(T0 - 9 * DAY), iso(T0 - DAY))], "v", T0 - 2 * DAY, T0 + 2 * DAY);
  assert.deepEqual([first.from, first.to, first.open], [0, 0.25, false]);
  assert.deepEqual([second.from, second.to, second.open], [0.5, 1, true]);
});

test("a fault is ordered with what it wants and ended by its name", () => {
  const slipped = { kind: "plant", name: "probe-slipped", says: "A probe slips", places: 1, amount: 60, unit: "%" };
  const order = orderOf(slipped, chosenBody(slipped, "head", "pot", "40"));
  assert.deepEqual(order.body, { fault: "probe-slipped", on: true, places: ["head"], amount: 40 });
  const crc = { kind: "bus", name: "crc", says: "Bytes are hurt", places: 0, amount: null, unit: null };
  const probes = [{ probe_id: "28-a", place: "coolant_in", vessel: null, fault: "crc" }];
  const [one] = standingText({ probes, standing: [], faults: [crc] });
  assert.equal(one.text, "coolant in: Bytes are hurt.");
  assert.deepEqual(one.order.body, { probe_id: "28-a", fault: null });
});

test("a refusal speaks in the reader's unit and by the labels before them", () => {
  assert.equal(refusalText("reference_c is 200.0; it must be at most 110.", "F"), "The thermometer in the bath says 392 °F; it must be at most 230 °F.");
  assert.equal(refusalText("reference_c is 900; it must be at most 110.", "C"), "The thermometer in the bath says 900 °C; it must be at most 110 °C.");
  assert.equal(refusalText("pressure_hpa is 5; it must be at least 600.", "F"), "The pressure given is 5 hPa; it must be at least 600 hPa.");
  assert.equal(refusalText("It drifts.", "F"), "It drifts.");
  const fields = [{ name: "volume_l", label: "Size", kind: "number" }, { name: "heat_source", label: "Heated by", kind: "choice" }];
  assert.equal(labelled("volume_l is 0; it must be more than 0.", fields), "“Size” is 0; it must be more than 0.");
  const overlap = timed("Still would hold rye 1 and rye 2 at 2020-09-21T14:15:00+00:00; end the one.", "Europe/Vienna");
  assert.equal(overlap, "Still would hold rye 1 and rye 2 at 21 Sept 2020, 16:15; end the one.");
  for (const moment of ["2020-09-21 14:15:00+00:00", "2020-09-21T14:15+00:00", "2020-09-21T14:15:00.250Z"]) assert.equal(timed(`It is ${moment}.`, "Europe/Vienna"), "It is 21 Sept 2020, 16:15.");
  assert.equal(labelled("Correct heat_source or volume_l.", fields), "Correct heat_source or “Size”.");
});

test("what was refused while it waited is told by the names people read and the site's clock", () => {
  const told = (sentence) => troubleText({ body: {}, trouble: { status: 422, sentence, field: null, now: null } }, "Europe/Vienna");
  assert.equal(told("A strength needs its temperature; give temperature_c."), "Not taken: A strength needs its temperature; give “the temperature”.");
  assert.equal(told("A jar cannot begin at 2020-09-21T14:15:00+00:00."), "Not taken: A jar cannot begin at 21 Sept 2020, 16:15.");
});

test("an address that means this machine alone is known from one that others can follow", () => {
  for (const here of ["localhost", "127.0.0.1", "127.0.1.1", "[::1]"]) assert.ok(isHereOnly(here), here);
  for (const name of ["still.lan", "192.168.1.7", "[fd00::1]", "127.example", "localhost.lan", "still.local"]) assert.ok(!isHereOnly(name), name);
});

test("a vessel in which something is stored is not called empty", () => {
  const vessels = [{ id: "s", name: "still" }, { id: "c", name: "cask 2" }, { id: "t", name: "tub" }, { id: "f", name: "fermenter" }];
  const lot = (vessel_id, name, volume_l) => ({ id: name, vessel_id, name, kind: "cask", now: volume_l === undefined ? null : { volume_l } });
  const lots = [lot("c", "rye cask", 19.86), lot("f", "wash", 0), lot(null, "hearts", 3)];
  const said = (of) => textOf(tellVessels(vessels, [], [{ vessel_id: "s" }], of, T0, String).says).trim();
  assert.equal(said(lots), "The cask 2 holds what is in store. The other 3 are empty.");
  assert.equal(said([...lots, lot("t", "feints")]), "2 hold what is in store. The other 2 are empty.");
  assert.equal(said([]), "All 4 vessels are empty.");
  assert.equal(heldText(undefined, [lots[0]], String), "In store: rye cask, 19.9 L.");
  assert.equal(heldText(undefined, [lot("t", "feints")], String), "In store: feints.");
  assert.equal(heldText(undefined, [], String), "Empty.");
});

test("a scale is placed for its mass, and leaves the thermometer where it sits", async () => {
  const reading = (quantity, place_id = null) => ({ quantity, place_id });
  const scale = { id: "iio-scale", readings: [reading("mass_kg")] };
  const spout = { id: "28-1", name: "spout probe", readings: [reading("temperature_c", "p")] };
  const means = { hands: () => ({ places: [{ id: "p", name: "spout", vessel_id: null }], vessels: [], probes: [scale, spout] }) };
  assert.deepEqual([quantityOf(scale), quantityOf(spout), quantityOf({ readings: [] })], ["mass_kg", "temperature_c", "temperature_c"]);
  assert.deepEqual([deedsWith(scale), deedsWith({ ...scale, readings: [reading("mass_kg", "p")] })], [["place", "rename", "use"], ["place", "take", "rename"]]);
  assert.deepEqual([deedsWith(spout), deedsWith({ ...scale, retired: true }), deedsWith({ readings: [reading("pressure_hpa")] })], [["calibrate", "swap", "replace", "place", "take", "rename"], ["use", "rename"], ["rename", "use"]]);
  assert.match(placeChoices(means)[0][1], /spout probe/);
  assert.doesNotMatch(placeChoices(means, "mass_kg")[0][1], /spout probe/);
  const asked = [];
  const before = globalThis.fetch;
  globalThis.fetch = async (_, { body }) => {
    asked.push(JSON.parse(body));
    return new Response("{}", { headers: { "content-type": "application/json" } });
  };
  await moveProbe(scale.id, "p", null, quantityOf(scale)).finally(() => (globalThis.fetch = before));
  assert.deepEqual(asked, [{ probe_id: "iio-scale", place_id: "p", from_at: null, quantity: "mass_kg" }]);
});
