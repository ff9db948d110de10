// The page People: who may come in from elsewhere, by what, and what happened at the doors.

import "../shared/texts.js";
import "./texts.js";
import { apiUrl, get, send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { deedFor, pressFor } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { say } from "../texts.js";
import { linkCard, personCard, phoneCard, surely, tokenCard } from "./cards.js";
import { passphraseForm, personForm, phoneForm, tokenForm } from "./forms.js";
import { showLink, showOnce } from "./once.js";
import { tellPeople, tellRests } from "./tell.js";

const EVENTS_SHOWN = 100;

/**
 * Everything the page knows; what is the owner's is empty for others.
 * @typedef {object} Doors
 * @property {Me} me
 * @property {PersonRecord[]} people
 * @property {SessionRecord[]} sessions
 * @property {TokenRecord[]} tokens
 * @property {LinkRecord[]} links
 * @property {DoorEventRecord[]} events
 * @property {string[]} areas
 */

const main = find(document, "#main");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = pressFor(say("people.add"), () => form("person"), "press main");
const others = make("p", { class: "others", hidden: true }); // shown once it is known who asks
press.hidden = true;
const doing = make("div", { class: "doing" });
const lists = make("div", {});
const mine = make("p", { class: "others mine" });
main.append(make("section", { class: "home" }, says, rests, press, others, doing, lists, mine));

/** @type {Doors & {ground: import("../shared/page.js").Ground} | null} */
let doors = null;

async function load() {
  /** @type {Me} */
  const me = await get("doors/me");
  const paths = ["people", "sessions", "tokens", "links", "events", "areas"];
  const [people, sessions, tokens, links, events, areas] = me.role === "own" ? await Promise.all(paths.map((path) => get(`doors/${path}`))) : paths.map(() => []);
  return { me, people, sessions, tokens, links, events, areas };
}

/** @param {Doors} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  doors = { ...loaded, ground };
  const { me, people, sessions, tokens, links, events } = loaded;
  const owner = me.role === "own";
  const phones = sessions.filter((one) => one.person_id === null);
  says.replaceChildren(...woven(tellPeople(me, people.length, phones.length, tokens.length)));
  setText(rests, tellRests(me, ground.site.simulated));
  press.hidden = !owner;
  others.hidden = !owner;
  mine.replaceChildren(...minesDeeds(me), ...(owner ? [everybodyOut()] : []));
  const means = { ground, refresh, keep, me };
  lists.replaceChildren(
    ...section("people", people.map((one) => personCard(one, sessions, means))),
    ...section("phones", phones.map((one) => phoneCard(one, means))),
    ...section("tokens", tokens.map((one) => tokenCard(one, means))),
    ...section("links", links.map((one) => linkCard(one, means))),
    ...(owner ? [authority(), happened(events, ground.zone)] : []),
  );
}

function everybodyOut() {
  return surely(say("people.everybody"), async () => {
    await send("POST", "doors/sign-everybody-out");
    await refresh();
  });
}

/** @param {Me} me */
function minesDeeds(me) {
  if (me.session_id === null) return [];
  const out = (/** @type {boolean} */ everywhere) => async () => {
    await send("POST", "doors/sign-out", {}, { everywhere });
    await refresh(); // the service no longer answers this browser, which then leads to the sign-in
  };
  return [
    ...(me.has_passphrase ? [pressFor(say("people.me.passphrase"), () => form("mine"), "quiet")] : []),
    deedFor(say("people.me.out"), out(false), "quiet"),
    ...(me.has_passphrase ? [deedFor(say("people.me.everywhere"), out(true), "quiet")] : []),
  ];
}

/** @param {string} kind @param {Node[]} cards */
function section(kind, cards) {
  if (cards.length === 0) return [];
  return [make("h2", { class: "kind" }, say(`people.kind.${kind}`)), make("ul", { class: "wire" }, ...cards)];
}

/** @param {"person" | "phone" | "token" | "mine"} kind */
function form(kind) {
  if (!doors) return;
  const close = () => doing.replaceChildren();
  const ways = { zone: doors.ground.zone, close };
  const until = (/** @type {string} */ at) => saidTime(Date.parse(at), Date.now(), ways.zone);
  const forms = {
    person: () => personForm(ways, (made) => once(showOnce(say("once.passphrase", { name: made.name }), made.passphrase, close))),
    phone: () => phoneForm(ways, (made) => once(showLink(made, until(made.until_at), close))),
    token: () => tokenForm(ways, doors?.areas ?? [], (made) => once(showOnce(say("once.token", { name: made.name }), made.secret, close))),
    mine: () => passphraseForm(ways, async () => {
      close();
      await refresh();
    }),
  };
  keep(forms[kind]());
  doing.querySelector("input")?.focus();
}

/** @param {HTMLElement} card */
async function once(card) {
  keep(card);
  await refresh();
}

/** Show something above the lists, where no refresh takes it away. @param {HTMLElement} shown */
function keep(shown) {
  doing.replaceChildren(shown);
  shown.scrollIntoView({ block: "nearest" });
}

function authority() {
  const fetched = make("a", { class: "press", href: apiUrl("doors/authority.crt"), download: "wormtub-authority.crt" }, say("people.authority"));
  return make("details", { class: "kind" }, make("summary", {}, say("people.authority")), make("p", { class: "hint" }, say("people.authority.hint")), make("p", {}, fetched));
}

/** @param {DoorEventRecord[]} events @param {string} zone */
function happened(events, zone) {
  const heads = ["at", "kind", "about", "who", "address"].map((key) => make("th", { scope: "col" }, say(`people.events.${key}`)));
  const rows = events.slice(0, EVENTS_SHOWN).map(({ at, kind, about, who, address }) =>
    make("tr", {}, ...[saidTime(Date.parse(at), Date.now(), zone), kind, about, who, address].map((text) => make("td", {}, text))));
  const table = make("table", { class: "happened" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
  return make("details", {}, make("summary", {}, say("people.events")), table);
}

others.append(pressFor(say("people.add.phone"), () => form("phone"), "quiet"), pressFor(say("people.add.token"), () => form("token"), "quiet"));
const refresh = startPage("people", load, show);
