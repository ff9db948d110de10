// One line of the page People: somebody, a phone, a program, an unused link; and what can be done.

import { send } from "../shared/api.js";
import { ago, saidTime } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { deedFor, pressFor } from "../shared/entry.js";
import { say } from "../texts.js";
import { changeForm } from "./forms.js";
import { showLink, showOnce } from "./once.js";

const HOUR_S = 3600; // as often as the service writes down that somebody was here

/** @typedef {{ground: import("../shared/page.js").Ground, refresh: () => Promise<void>, keep: (shown: HTMLElement) => void, me: Me}} Means */

/** @param {string} at @param {Means} means */
const said = (at, { ground }) => saidTime(Date.parse(at), Date.now(), ground.zone);

/** @param {string} at */
const since = (at) => ago(Math.max(0, Date.now() - Date.parse(at)), HOUR_S);

/** @param {string} name @param {string} about @param {string} state @param {(close: () => void) => Node[]} fill */
function makeCard(name, about, state, fill) {
  const head = make("button", { type: "button", class: "knot", "aria-expanded": "false" },
    make("span", { class: "name" }, name), make("span", { class: "about" }, about), make("span", { class: "state" }, state));
  const drawer = make("div", { class: "drawer", hidden: true });
  const close = () => open(false);
  head.addEventListener("click", () => open(head.getAttribute("aria-expanded") === "false"));

  /** @param {boolean} opened */
  function open(opened) {
    drawer.hidden = !opened;
    head.setAttribute("aria-expanded", String(opened));
    if (opened) drawer.replaceChildren(...fill(close));
  }
  return make("li", {}, head, drawer);
}

/** A deed that cannot be taken back asks a second time. @param {string} text @param {() => Promise<unknown>} act */
export function surely(text, act) {
  const deed = make("span", { class: "deed" });
  deed.append(pressFor(text, () => deed.replaceChildren(deedFor(say("people.sure", { what: text }), act)), "quiet"));
  return deed;
}

/** @param {PersonRecord} person @param {SessionRecord[]} sessions @param {Means} means */
export function personCard(person, sessions, means) {
  const own = sessions.filter((one) => one.person_id === person.id);
  const [last] = own;
  const key = own.length === 1 ? "people.signed.one" : "people.signed";
  const state = last ? say(key, { count: own.length, when: since(last.seen_at) }) : say("people.signed.none");
  return makeCard(person.name, say("role.may", { role: say(`role.${person.role}`) }), state, (close) => {
    const ways = { zone: means.ground.zone, close };
    return [
      changeForm(person, ways, means.refresh),
      make("ul", { class: "lines" }, ...own.map((one) => sessionLine(one, means))),
      make("div", { class: "deeds" },
        deedFor(say("people.renew"), () => renew(person, means)),
        deedFor(say("people.out"), () => ended("POST", `doors/people/${person.id}/sign-out`, means)),
        surely(say("people.remove"), () => ended("DELETE", `doors/people/${person.id}`, means))),
    ];
  });
}

/** @param {SessionRecord} session @param {Means} means */
function sessionLine(session, means) {
  const mine = session.id === means.me.session_id;
  const text = say(mine ? "people.session.me" : "people.session", { name: session.name, from: said(session.made_at, means), when: since(session.seen_at) });
  return make("li", {}, make("span", {}, text), " ", deedFor(say("people.out.one"), () => ended("DELETE", `doors/sessions/${session.id}`, means), "quiet"));
}

/** @param {PersonRecord} person @param {Means} means */
async function renew(person, means) {
  const { passphrase } = await send("POST", `doors/people/${person.id}/passphrase`, {}, {});
  const shown = showOnce(say("once.passphrase", { name: person.name }), passphrase, () => shown.remove());
  means.keep(shown);
  await means.refresh();
}

/** @param {SessionRecord} phone @param {Means} means */
export function phoneCard(phone, means) {
  const state = say("people.phone.state", { from: said(phone.made_at, means), when: since(phone.seen_at) });
  return makeCard(phone.name, say("role.may", { role: say(`role.${phone.role}`) }), state, () => [
    make("div", { class: "deeds" }, deedFor(say("people.out.one"), () => ended("DELETE", `doors/sessions/${phone.id}`, means))),
  ]);
}

/** @param {TokenRecord} token @param {Means} means */
export function tokenCard(token, means) {
  const used = token.seen_at ? say("people.token.used", { when: since(token.seen_at) }) : say("people.token.unused");
  const until = token.until_at ? say("people.token.until", { to: said(token.until_at, means) }) : "";
  const state = say("people.token.state", { from: said(token.made_at, means), used, until });
  return makeCard(token.name, token.scopes.join(", "), state, () => [
    make("div", { class: "deeds" }, surely(say("people.end"), () => ended("DELETE", `doors/tokens/${token.id}`, means))),
  ]);
}

/** @param {LinkRecord} link @param {Means} means */
export function linkCard(link, means) {
  const to = said(link.until_at, means);
  return makeCard(link.name, say("role.may", { role: say(`role.${link.role}`) }), say("people.link.state", { to }), (close) => [
    showLink(link, to, close),
    make("div", { class: "deeds" }, deedFor(say("people.end"), () => ended("DELETE", `doors/links/${link.id}`, means), "quiet")),
  ]);
}

/** @param {"POST" | "DELETE"} method @param {string} path @param {Means} means */
async function ended(method, path, means) {
  await send(method, path);
  await means.refresh();
}
