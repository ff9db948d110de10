// The head of the live page: who is well, the sentence, what it rests on, what to check, and
// whether the service answers.

import { find, keepList, make, on, setText } from "../shared/dom.js";
import { saidTime, timeToSecond } from "../shared/clock.js";
import { say } from "../texts.js";
import { healthOf } from "./health.js";
import { placesOf } from "./lines.js";
import { sentence, troubles } from "./sentence.js";

/** @typedef {import("./sheet.js").Told} Told */
/** @typedef {import("../texts.js").Part} Part */

/** @param {HTMLElement} root */
export function mountHead(root) {
  const status = make("p", { class: "status" }, make("span", { class: "site" }), make("span", { class: "count" }), make("span", { class: "air" }), make("time"));
  const says = make("h1", { class: "says" });
  const rests = make("p", { class: "rests" });
  const checks = make("ul", { class: "checks", "aria-label": say("trouble.label") });
  root.append(status, says, rests, checks);
  on(root, "state", (/** @type {Told} */ told) => {
    fillStatus(status, told);
    const { says: saying, rests: resting } = sentence(factsOf(told));
    fillParts(says, saying);
    const { live, now_ms, view } = told.state;
    const now = view.following || !live;
    rests.classList.toggle("ofnow", now);
    setText(rests, now ? resting : pastText(view, now_ms, told.zone));
    const found = troubles(live, now_ms, told.zone);
    checks.hidden = found.length === 0;
    keepList(checks, found, ({ key }) => key, () => make("li"), (item, trouble) => fillParts(item, trouble.parts));
  });
}

/** Which time is looked at, where that is not now. @param {import("./view.js").View} view @param {number} now_ms @param {string} zone */
function pastText({ from_ms, to_ms }, now_ms, zone) {
  return say("sheet.past", { from: saidTime(from_ms, now_ms, zone), to: saidTime(to_ms, now_ms, zone) });
}

/** @param {Told} told @returns {import("./sentence.js").Facts} */
function factsOf({ state, unit, zone }) {
  const { live, link, pressure, now_ms, recent } = state;
  return { live, link, pressure, now_ms, unit, zone, recent: new Map(recent?.traces.map((trace) => [trace.key, trace])) };
}

/** @param {HTMLElement} status @param {Told} told */
function fillStatus(status, { state, zone }) {
  const { site, live, pressure, now_ms } = state;
  setText(find(status, ".site"), site?.name ?? "");
  setText(find(status, ".count"), live ? countText(live) : say("status.loading"));
  const source = pressure?.source === "altitude" && site?.altitude_m === null ? "sea" : pressure?.source;
  const air = pressure && say(`status.pressure.${source}`, { pressure: Math.round(pressure.pressure_hpa).toLocaleString("en-GB") });
  setText(find(status, ".air"), air ?? "");
  setText(find(status, "time"), timeToSecond(now_ms, zone));
}

/** @param {LiveState} live */
function countText(live) {
  const probed = placesOf(live).filter((place) => place.probe_id !== null);
  const good = probed.filter((place) => healthOf(place, live).good).length;
  if (probed.length === 0) return say("status.none");
  if (good < probed.length) return say("status.good", { good, all: probed.length });
  return probed.length === 1 ? say("status.onegood") : say("status.allgood", { all: probed.length });
}

/**
 * Put a text in parts into an element, touching nothing where it says so already.
 * @param {Element} element
 * @param {readonly Part[]} parts
 */
export function fillParts(element, parts) {
  const merged = parts.filter((part) => part.text !== "");
  const same =
    element.childNodes.length === merged.length &&
    merged.every((part, index) => {
      const node = element.childNodes[index];
      return node?.textContent === part.text && (node instanceof HTMLElement) === part.strong;
    });
  if (same) return;
  element.replaceChildren(...merged.map(({ text, strong }) => (strong ? make("strong", {}, text) : text)));
}

/**
 * News about the connection. Announced when it changes, not each second.
 * @param {HTMLElement} root
 * @param {Promise<unknown>} library
 */
export function mountNotices(root, library) {
  const news = make("p", { class: "notice", role: "status", hidden: true });
  const updated = make("p", { class: "notice", hidden: true }, say("link.updated"), " ", reloadButton());
  const history = make("p", { class: "notice", role: "status", hidden: true });
  const noplot = make("p", { class: "notice", hidden: true }, say("sheet.noplot"));
  const back = make("p", { class: "unseen", role: "status" });
  root.append(news, updated, history, noplot, back);
  on(root, "state", (/** @type {Told} */ { state, zone }) => {
    const lost = state.link.phase === "lost";
    if (lost !== !news.hidden) setText(back, lost ? "" : say("link.back"));
    news.hidden = !lost;
    setText(news, lost ? say("link.lost", { time: timeToSecond(state.link.since_ms, zone) }) : "");
    updated.hidden = !state.updated;
    history.hidden = state.problem === null || lost;
    setText(history, state.problem ?? "");
  });
  library.then((loaded) => {
    noplot.hidden = loaded !== null;
  });
}

function reloadButton() {
  const button = make("button", { type: "button" }, say("link.reload"));
  button.addEventListener("click", () => location.reload());
  return button;
}
