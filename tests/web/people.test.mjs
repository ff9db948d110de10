// What the page People says first, and how scopes are read.

import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/people/texts.js";
import { scopesOf, tellPeople, tellRests } from "../../web/people/tell.js";

const OWNER = { name: "Ann", role: "own", session_id: "1", has_passphrase: true };
const said = (parts) => parts.map(({ text }) => text).join("");
const bold = (parts) => parts.filter(({ strong }) => strong).map(({ text }) => text);

test("who may come in is counted, each kind only where there is one", () => {
  assert.equal(said(tellPeople(OWNER, 0, 0, 0)), "Nobody may come in from elsewhere yet.");
  assert.equal(said(tellPeople(OWNER, 1, 0, 0)), "One person may come in from elsewhere.");
  assert.equal(said(tellPeople(OWNER, 2, 1, 0)), "2 people and one phone may come in from elsewhere.");
  assert.equal(said(tellPeople(OWNER, 2, 3, 4)), "2 people, 3 phones and 4 programs may come in from elsewhere.");
  assert.equal(said(tellPeople(OWNER, 0, 0, 1)), "One program may come in from elsewhere.");
  assert.equal(bold(tellPeople(OWNER, 2, 1, 0)).join("|"), "2| people|one phone");
});

test("others are told who they are", () => {
  const bob = { ...OWNER, name: "Bob", role: "operate" };
  assert.equal(said(tellPeople(bob, 0, 0, 0)), "You are Bob, and you may enter and change.");
  assert.match(tellRests(bob, false), /whoever owns the house/);
  assert.match(tellRests({ ...OWNER, session_id: null }, false), /machine itself/);
  assert.match(tellRests(OWNER, false), /You are Ann/);
  assert.match(tellRests(OWNER, true), /demonstration/);
});

test("scopes are typed with commas or spaces between", () => {
  assert.deepEqual(scopesOf("watch, operate:vessels"), ["watch", "operate:vessels"]);
  assert.deepEqual(scopesOf(" watch  operate:live,"), ["watch", "operate:live"]);
  assert.deepEqual(scopesOf(""), []);
});
