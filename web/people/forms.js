// The forms of the page People.

import { send } from "../shared/api.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { scopesOf } from "./tell.js";

/** @typedef {{zone: string, close: () => void}} Ways */

const ROLES = /** @type {const} */ (["watch", "operate", "own"]);

/** @param {string} value @returns {import("../shared/entry.js").Field} */
function roleField(value) {
  return { name: "role", label: say("people.role"), kind: "choice", value, choices: ROLES.map((role) => [role, say(`role.choice.${role}`)]) };
}

/** @param {Ways} ways @param {(made: PersonRecord & {passphrase: string}) => Promise<void>} done */
export function personForm(ways, done) {
  return makeEntry({
    key: "person",
    fields: [{ name: "name", label: say("people.name") }, roleField("operate")],
    submit: say("people.add"),
    zone: ways.zone,
    cancel: ways.close,
    act: async ({ name, role }) => done(await send("POST", "doors/people", {}, { name: name ?? "", role })),
  });
}

/** @param {PersonRecord} person @param {Ways} ways @param {() => Promise<void>} done */
export function changeForm(person, ways, done) {
  return makeEntry({
    key: `person-${person.id}`,
    fields: [{ name: "name", label: say("people.name"), value: person.name }, roleField(person.role)],
    submit: say("entry.save"),
    zone: ways.zone,
    cancel: ways.close,
    act: async ({ name, role }) => {
      await send("PUT", `doors/people/${person.id}`, {}, { name: name ?? "", role, version: person.version });
      await done();
    },
  });
}

/** @param {Ways} ways @param {(made: LinkRecord) => Promise<void>} done */
export function phoneForm(ways, done) {
  return makeEntry({
    key: "phone",
    fields: [{ name: "name", label: say("people.name.phone") }, roleField("operate")],
    submit: say("people.add.phone"),
    zone: ways.zone,
    cancel: ways.close,
    act: async ({ name, role }) => done(await send("POST", "doors/links", {}, { name: name ?? "", role })),
  });
}

/** @param {Ways} ways @param {readonly string[]} areas @param {(made: TokenRecord & {secret: string}) => Promise<void>} done */
export function tokenForm(ways, areas, done) {
  return makeEntry({
    key: "token",
    fields: [
      { name: "name", label: say("people.name.token") },
      { name: "scopes", label: say("people.scopes"), value: "watch", hint: say("people.scopes.hint", { areas: areas.join(", ") }) },
      { name: "days", label: say("people.days"), kind: "number", unit: say("people.days.unit"), optional: true, hint: say("people.days.hint") },
    ],
    submit: say("people.add.token"),
    zone: ways.zone,
    cancel: ways.close,
    act: async ({ name, scopes, days }) => done(await send("POST", "doors/tokens", {}, { name: name ?? "", scopes: scopesOf(String(scopes ?? "")), days })),
  });
}

/** @param {Ways} ways @param {() => Promise<void>} done */
export function passphraseForm(ways, done) {
  const form = makeEntry({
    key: "mine",
    fields: [{ name: "now", label: say("people.now") }, { name: "passphrase", label: say("people.passphrase"), hint: say("people.passphrase.hint") }],
    submit: say("people.me.passphrase"),
    zone: ways.zone,
    cancel: ways.close,
    act: async ({ now, passphrase }) => {
      await send("PUT", "doors/passphrase", {}, { now: now ?? "", passphrase: passphrase ?? "" });
      await done();
    },
  });
  for (const input of form.querySelectorAll("input")) {
    input.type = "password";
    input.autocomplete = input.name === "now" ? "current-password" : "new-password";
  }
  return form;
}
