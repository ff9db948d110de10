// Under the thumb while a run is on: what stands under the spout, the one large press that fits
// the moment with the next jar beside it, what was done last and its undo.

import { find, keepList, make, setAttributes, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { timeOfDay } from "../shared/clock.js";
import { parts, say } from "../texts.js";

/**
 * What the panel shows.
 * @typedef {object} Shown
 * @property {NowRun} run
 * @property {readonly NowRun[]} runs
 * @property {MarkKind | null} fitting
 * @property {JarRecord | null} open
 * @property {JarRecord | null} closed the jar closed last
 * @property {number} next
 * @property {{said: string, subject: string} | null} last what was done last, while it can be undone
 * @property {string | null} measured what the jar measured last came to
 * @property {number} now_ms
 * @property {string} zone
 * @property {boolean} old
 */

/**
 * @typedef {object} Verbs
 * @property {(kind: MarkKind) => void} mark
 * @property {() => void} jar
 * @property {() => void} undo
 * @property {() => void} measure
 * @property {(kind: MarkKind) => void} write opens a mark's sheet
 * @property {(id: string) => void} pick
 * @property {(proposal: Proposal, kept: boolean) => void} propose
 */

/** @param {HTMLElement} root @param {Verbs} verbs */
export function mountPanel(root, verbs) {
  const which = make("div", { class: "which", role: "group", "aria-label": say("run.which") });
  const button = make("p", { class: "hint", hidden: true });
  const standing = make("p", { class: "standing" });
  const sofar = make("p", { class: "sofar" });
  const undo = pressFor(say("run.undo"), verbs.undo, "undo");
  const last = make("p", { class: "last", role: "status" });
  const lines = make("div", { class: "lines" }, make("div", {}, last, standing, sofar), undo);
  const proposals = make("ul", { class: "proposals" });
  const doing = make("div", { class: "doing" });
  const mark = make("button", { type: "button", class: "main fits" });
  const jar = make("button", { type: "button", class: "main next" });
  mark.addEventListener("click", () => mark.dataset.kind && verbs.mark(/** @type {MarkKind} */ (mark.dataset.kind)));
  jar.addEventListener("click", verbs.jar);
  const measure = pressFor(say("jar.measure"), verbs.measure);
  const small = make("div", { class: "small" }, pressFor(say("mark.power"), () => verbs.write("power")), pressFor(say("mark.note"), () => verbs.write("note")), measure);
  const presses = make("div", { class: "deeds" }, make("div", { class: "big" }, mark, jar), small);
  const keys = make("p", { class: "keys" });
  root.append(which, button, lines, proposals, doing, presses, keys);

  /** @param {Shown} shown */
  function show(shown) {
    const { run, fitting, open, closed, next } = shown;
    which.hidden = shown.runs.length < 2;
    keepList(which, shown.runs, ({ id }) => id, ({ id }) => pressFor("", () => verbs.pick(id)), (button, each) => {
      setText(button, [each.vessel, say("run.purpose", { purpose: each.purpose })].filter(Boolean).join(" · "));
      setAttributes(button, { "aria-pressed": String(each.id === run.id), title: each.batch });
    });
    const newest = shown.runs.reduce((one, other) => (Date.parse(other.started_at) > Date.parse(one.started_at) ? other : one), run);
    setText(button, say("run.button", { vessel: newest.vessel ?? newest.batch }));
    button.hidden = which.hidden;
    setText(last, shown.last?.said ?? "");
    last.hidden = shown.last === null || (open !== null && shown.last.subject === open.id); // the line below says so
    undo.hidden = shown.last === null;
    fillIn(standing, standingParts(shown));
    fillIn(sofar, shown.measured ? parts("jar.plain", { text: shown.measured }) : sofarParts(run));
    const busy = doing.childElementCount > 0;
    presses.hidden = lines.hidden = proposals.hidden = keys.hidden = busy;
    mark.hidden = fitting === null;
    if (fitting) setText(mark, say(`mark.${fitting}`));
    mark.dataset.kind = fitting ?? "";
    jar.hidden = fitting === "first_drop" || run.purpose === "cleaning";
    setText(jar, say("jar.next", { number: next }));
    measure.hidden = (closed ?? open) === null || run.purpose === "cleaning";
    keepList(proposals, run.proposals, ({ kind, at }) => `${kind} ${at}`, (one) => proposal(one, shown.zone, verbs), () => {});
    setText(keys, keysText(shown));
  }

  return { show, doing: find(root, ".doing") };
}

/** @param {HTMLElement} element @param {readonly import("../texts.js").Part[]} said */
function fillIn(element, said) {
  const text = said.map((part) => part.text).join("");
  element.hidden = text === "";
  if (element.textContent !== text) element.replaceChildren(...woven(said));
}

/** @param {Shown} shown */
function standingParts({ run, open, zone, old, now_ms }) {
  if (old) return parts("run.old", { time: timeOfDay(now_ms, zone) });
  if (!open) return run.jars.length === 0 ? [] : parts("jar.none");
  const minutes = (now_ms - Date.parse(open.began_at)) / 60_000;
  const volume = run.rate_ml_min === null ? null : (run.rate_ml_min * minutes) / 1000;
  return parts("jar.standing", {
    number: open.number,
    time: timeOfDay(Date.parse(open.began_at), zone),
    filled: volume === null || volume < 0 ? "" : say("jar.filled", { volume: volume.toFixed(2) }),
    full: run.jar_full_at ? parts("jar.full", { time: timeOfDay(Date.parse(run.jar_full_at), zone) }) : "",
  });
}

/** @param {NowRun} run */
function sofarParts({ running_pure_alcohol_l, share_of_charge }) {
  if (running_pure_alcohol_l === null || running_pure_alcohol_l === undefined || running_pure_alcohol_l === 0) return [];
  const share = share_of_charge === null || share_of_charge === undefined ? "" : say("jar.share", { share: (share_of_charge * 100).toFixed(0) });
  return parts("jar.sofar", { alcohol: running_pure_alcohol_l.toFixed(2), share });
}

/** @param {Proposal} one @param {string} zone @param {Verbs} verbs */
function proposal(one, zone, verbs) {
  const asked = make("span", {}, say("proposal.ask", { mark: say(`mark.${one.kind}`), time: timeOfDay(Date.parse(one.at), zone) }), " ", make("small", {}, one.why));
  return make("li", {}, asked, pressFor(say("proposal.keep"), () => verbs.propose(one, true), "chip"), pressFor(say("proposal.not"), () => verbs.propose(one, false), "chip"));
}

/** @param {Shown} shown */
function keysText({ fitting, last }) {
  const first = fitting === "first_drop";
  const said = [
    first ? say("run.keys.first", { mark: say("mark.first_drop").toLowerCase() }) : say("run.keys.jar"),
    ...(fitting && !first ? [say("run.keys.mark", { key: KEY_OF[fitting] ?? "", mark: say(`mark.${fitting}`).toLowerCase() })] : []),
    say("run.keys.mark", { key: "P", mark: say("mark.power").toLowerCase() }),
    say("run.keys.mark", { key: "N", mark: say("mark.note").toLowerCase() }),
    ...(last === null ? [] : [say("run.keys.undo")]),
  ];
  return say("run.keys", { keys: said.join(" · ") });
}

/** @type {Partial<Record<MarkKind, string>>} */
const KEY_OF = { first_drop: "F", foreshots_end: "E", hearts: "H", tails: "T", end: "X" };
