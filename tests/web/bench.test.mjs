import assert from "node:assert/strict";
import { test } from "node:test";
import { compose, parse } from "../../web/bench/address.js";
import { at, axisFor, nearest, picture, rowsShown } from "../../web/bench/curve_data.js";
import { boldParts, mainOf, pairsOf, rowsOf } from "../../web/bench/says.js";
import { bySubject, search } from "../../web/bench/search.js";
import { choiceText, decimalsOf, fieldText, limitText, readTyped, said, scaleOf, toMetric, toShown } from "../../web/bench/values.js";
import { randomness } from "./helpers.mjs";

// NIST SP 811 (2008), appendix B, as the service declares them.
const US = {
  "°C": { unit: "°F", factor: 1.8, offset: 32 },
  L: { unit: "US gal", factor: 1 / 3.785411784, offset: 0 },
  hPa: { unit: "inHg", factor: 1 / 33.86389, offset: 0 },
  kW: { unit: "BTU/h", factor: 3412.142, offset: 0 },
};
const F = scaleOf("°C", US, "us");
const GAL = scaleOf("L", US, "us");

test("an address comes back as it was composed, lists and odd characters too", () => {
  const given = [["volume_l", 10], ["grains", ["rye", "pale-malt"]], ["text", "a&b=c, d%"], ["masses_kg", [1, null, 2.5]]];
  const found = parse(compose("grist", given));
  assert.equal(found.name, "grist");
  assert.deepEqual([...found.values], [["volume_l", "10"], ["grains", "rye,pale-malt"], ["text", "a&b=c, d%"], ["masses_kg", "1,,2.5"]]);
  assert.equal(compose("grist", given.slice(0, 2)), "#grist?volume_l=10&grains=rye,pale-malt");
});

test("an address may name nothing, a calculation alone, or be broken", () => {
  assert.equal(parse(""), null);
  assert.equal(parse("#"), null);
  assert.equal(parse("#dilution").bare, true);
  assert.equal(parse("#dilution?abv=65").bare, false);
  assert.equal(parse("#50%").name, "50%");
});

test("US units are those of the declaration; others stay as they are", () => {
  assert.equal(toShown(84, F), 183.2);
  assert.equal(toMetric(183.2, F), 84);
  assert.deepEqual(scaleOf("% vol", US, "us"), { unit: "% vol", factor: 1, offset: 0 });
  assert.deepEqual(scaleOf("°C", US, "metric"), { unit: "°C", factor: 1, offset: 0 });
  assert.equal(scaleOf(null, US, "us").unit, "");
});

test("turning a number there and back leaves it, whatever it is", () => {
  const random = randomness(4);
  for (let k = 0; k < 2000; k += 1) {
    const value = Number(((random() - 0.3) * 10 ** Math.floor(random() * 7)).toPrecision(9));
    for (const unit of Object.keys(US)) {
      const scale = scaleOf(unit, US, "us");
      const back = toMetric(toShown(value, scale), scale);
      assert.ok(Math.abs(back - value) <= 1e-8 * Math.max(Math.abs(value), 40), `${value} ${unit}: ${back}`);
    }
  }
});

test("as many digits are shown as mean something in the other unit", () => {
  assert.equal(decimalsOf(1, F), 1);
  assert.equal(decimalsOf(1, scaleOf("hPa", US, "us")), 2); // as the service words it: 29.92 inHg
  assert.equal(decimalsOf(2, scaleOf("kW", US, "us")), 0);
  assert.equal(fieldText(1013.25, 1, scaleOf("hPa", US, "us")), "29.92");
  assert.equal(fieldText(1013.25, 1, scaleOf("hPa", US, "metric")), "1013.25");
  assert.equal(fieldText(10, 3, GAL), "2.642");
  assert.equal(said(-0.04, 1, scaleOf("°C", US, "metric")), "0.0");
  assert.equal(said(-20, 1, F), "\u22124.0");
});

test("a limit shown is never beyond the true one", () => {
  assert.equal(limitText(1_000_000, scaleOf("L", US, "metric"), "high"), "1,000,000");
  assert.equal(limitText(1013.25, scaleOf("hPa", US, "metric"), "high"), "1,013.25");
  assert.equal(limitText(-20, F, "low"), "\u22124");
  const inHg = scaleOf("hPa", US, "us");
  assert.equal(limitText(200, inHg, "high"), "5.905"); // 5.90599…
  assert.equal(limitText(-980, inHg, "low"), "\u221228.93"); // 28.9394…
  assert.equal(limitText(600, inHg, "low"), "17.72"); // 17.7180…
});

test("what is typed is a number, nothing, or left to the service to refuse", () => {
  assert.deepEqual(readTyped(" 12.5 "), { kind: "number", shown: 12.5 });
  assert.deepEqual(readTyped("12,5"), { kind: "number", shown: 12.5 });
  assert.deepEqual(readTyped("\u22124"), { kind: "number", shown: -4 });
  assert.deepEqual(readTyped("1e3"), { kind: "number", shown: 1000 });
  assert.deepEqual(readTyped(".5"), { kind: "number", shown: 0.5 });
  assert.equal(readTyped("1,000").kind, "comma"); // one or a thousand: never guessed
  assert.equal(readTyped("  ").kind, "empty");
  for (const text of ["abc", "1.2.3", "Infinity", "1e999", "0x10", "12 L"]) assert.equal(readTyped(text).kind, "text", text);
});

test("choices are said as people say them", () => {
  assert.equal(choiceText("stainless-steel"), "stainless steel");
  assert.equal(choiceText("eu"), "EU");
});

const ALL = [
  { name: "dilution", subject: "Proofing", question: "How much water brings this spirit to bottling strength?", summary: "Return the water." },
  { name: "condensers", subject: "Heat and cooling", question: "How much cooling water do my condensers need?", summary: "Return the duty." },
  { name: "vapour-strength", subject: "Strength from temperature", question: "How strong is what comes over, by the head temperature?", summary: "Return the strength." },
];
const names = (found) => found.map(({ name }) => name);

test("a question is found by its words, its name and its subject", () => {
  assert.deepEqual(names(search(ALL, "bottling").found), ["dilution"]);
  assert.deepEqual(names(search(ALL, "vapour strength").found), ["vapour-strength"]);
  assert.deepEqual(names(search(ALL, "proofing").found), ["dilution"]);
  assert.deepEqual(names(search(ALL, "How much WATER?").found).sort(), ["condensers", "dilution"]);
  assert.equal(names(search(ALL, "condenser").found)[0], "condensers");
  assert.deepEqual(names(search(ALL, "").found), names(ALL));
});

test("where nothing has all the words, what has some is said to be so", () => {
  const { found, whole } = search(ALL, "water jars");
  assert.equal(whole, false);
  assert.deepEqual(names(found).sort(), ["condensers", "dilution"]);
  assert.deepEqual(search(ALL, "zebra").found, []);
});

test("subjects keep their order and all their members", () => {
  assert.deepEqual(bySubject(ALL).map(({ subject, members }) => [subject, members.length]), ALL.map(({ subject }) => [subject, 1]));
});

const item = (name, more = {}) => ({ name, label: name, unit: "% vol", low: 0, high: 100, decimals: 1, choices: [], many: false, ...more });
const GIVES = { gives: [item("abv"), item("abv_low"), item("abv_high"), item("why", { unit: null, decimals: null })] };
const ANSWER = {
  values: { abv: 4, abv_low: 3, abv_high: 14, why: null }, words: { abv: "4.0 % vol", abv_low: "3.0 % vol", abv_high: "14.0 % vol", why: "cannot tell" },
  sentence: "4.0 % vol, between 3.0 % vol and 14.0 % vol at 24.0 % vol.", why: null,
};

test("numbers of the answer are bold, and nothing within another number", () => {
  const bold = boldParts(ANSWER.sentence, GIVES, ANSWER).filter(({ strong }) => strong).map(({ text }) => text);
  assert.deepEqual(bold, ["4.0 % vol", "3.0 % vol", "14.0 % vol"]);
  const whole = boldParts(ANSWER.sentence, GIVES, ANSWER).map(({ text }) => text).join("");
  assert.equal(whole, ANSWER.sentence);
});

test("where it cannot tell, the reason stands whole and takes no row", () => {
  const why = { ...ANSWER, why: "Too cold.", sentence: "Too cold.", values: { abv: null, abv_low: null, abv_high: null, why: "Too cold." } };
  assert.deepEqual(boldParts("Too cold.", GIVES, why), [{ text: "Too cold.", strong: false }]);
  assert.deepEqual(rowsOf(GIVES, why).map(({ label, told }) => [label, told]), [["abv", false], ["abv_low", false], ["abv_high", false]]);
  assert.deepEqual(rowsOf(GIVES, ANSWER).map(({ label }) => label), ["abv", "abv_low", "abv_high"]);
});

test("a least and a most are a pair, wherever the unit stands in the name", () => {
  const gives = [item("hearts_low_l"), item("hearts_high_l"), item("best_low_c"), item("sg_low"), item("sg_high")];
  assert.deepEqual(pairsOf(gives), [["hearts_low_l", "hearts_high_l"], ["sg_low", "sg_high"]]);
  assert.deepEqual(mainOf(GIVES, ANSWER), { label: "abv", text: "4.0 % vol" });
});

test("the axis holds all its values and leaves air around them", () => {
  const random = randomness(7);
  for (let k = 0; k < 500; k += 1) {
    const values = Array.from({ length: 5 }, () => (random() - 0.5) * 10 ** Math.floor(random() * 6));
    const { low, high, step } = axisFor([...values, null], 5, true);
    assert.ok(low <= Math.min(...values) && high >= Math.max(...values) && step > 0);
    assert.ok((high - low) / step <= 12);
  }
  assert.ok(axisFor([3, 3], 5, true).high > 3);
  assert.equal(axisFor([0, 5], 5, true).low, 0);
});

test("the answer stands on the line, and not across a gap or beyond its ends", () => {
  assert.equal(at([0, 10, 20], [0, 5, null], 4), 2);
  assert.equal(at([0, 10, 20], [0, 5, null], 14), null);
  assert.equal(at([0, 10], [0, 5], 11), null);
  assert.equal(nearest([0, 10, null, 20], 17), 3);
});

test("lines of one unit share a panel, in the units shown; the band goes with its line", () => {
  const column = (name, unit) => ({ name, label: name, unit, decimals: 1 });
  const curve = { title: "t", x: "t_c", lines: ["abv", "pot_c"], band: ["lo", "hi"], columns: [column("t_c", "°C"), column("abv", "% vol"), column("pot_c", "°C"), column("lo", "% vol"), column("hi", "% vol")] };
  const columns = { t_c: [0, 100], abv: [90, 0], pot_c: [10, 20], lo: [80, 0], hi: [95, 10] };
  const drawn = picture({ curve, us_units: US }, columns, "us", 50, { abv: 44 });
  assert.deepEqual(drawn.panels.map(({ unit }) => unit), ["% vol", "°F"]);
  assert.deepEqual(drawn.xs, [32, 212]);
  assert.equal(drawn.here, 50);
  assert.equal(drawn.panels[0].lines[0].mark, 44); // the service's own number, not one between points
  assert.equal(drawn.panels[1].lines[0].mark, 59);
  assert.deepEqual(drawn.panels[0].band.high, [95, 10]);
  assert.equal(drawn.panels[1].band, null);
  assert.equal(picture({ curve, us_units: US }, columns, "us", 150, {}).here, null);
});

test("a long table is thinned evenly and keeps both ends", () => {
  assert.deepEqual(rowsShown(3), [0, 1, 2]);
  const rows = rowsShown(201);
  assert.equal(rows.length, 41);
  assert.deepEqual([rows[0], rows.at(-1)], [0, 200]);
});
