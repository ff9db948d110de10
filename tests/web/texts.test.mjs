import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { has, parts, say } from "../../web/texts.js";

const WEB = new URL("../../web/", import.meta.url);
const files = readdirSync(WEB, { recursive: true }).filter((name) => name.endsWith(".js") && !name.startsWith("vendor"));
const isTexts = (name) => name.split("/").at(-1) === "texts.js";
const read = (name) => readFileSync(new URL(name, WEB), "utf8");
const sources = files.filter((name) => !isTexts(name)).map(read);
for (const name of files.filter(isTexts)) await import(new URL(name, WEB)); // pages keep their own

test("bold pieces and words are kept apart from each other", () => {
  assert.deepEqual(parts("say.bad.one", { name: "a*b" }), [
    { text: "The ", strong: false },
    { text: "a*b", strong: true },
    { text: " gives ", strong: false },
    { text: "no good reading", strong: true },
    { text: ".", strong: false },
  ]);
});

test("a missing text is an error, not an empty place on the page", () => {
  assert.throws(() => say("no.such.text"), /no\.such\.text/);
});

test("every text asked for by its whole key is kept", () => {
  const asked = sources.flatMap((source) => [...source.matchAll(/\b(?:say|parts|plain)\(\s*"([a-z][\w.]*)"/g)]);
  assert.ok(asked.length > 60);
  assert.deepEqual(asked.map(([, key]) => key).filter((key) => !has(key)), []);
});

test("every text kept is asked for somewhere, whole or by its beginning", () => {
  const all = sources.join("\n");
  const kept = files.filter(isTexts).flatMap((name) => [...read(name).matchAll(/^ {2}"([^"]+)":/gm)].map(([, key]) => key));
  const used = (key) => {
    const stems = key.split(".").map((_, index, words) => words.slice(0, index + 1).join("."));
    return all.includes(`"${key}"`) || stems.some((stem) => all.includes(`\`${stem}.\${`));
  };
  assert.deepEqual(kept.filter((key) => !used(key)), []);
});
