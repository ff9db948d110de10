// A mark's own small sheet: what happened, when to the second, and what it smelled of.

import { timeToSecond } from "../shared/clock.js";
import { make, setAttributes, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { temperature, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { CUT_MARKS } from "./run.js";
import { merged, remember, split, words } from "./words.js";

const KINDS = /** @type {MarkKind[]} */ ([...CUT_MARKS, "power", "note", "other"]);
const NUDGES = [-60, -10, 10, 60];

/** What a mark says, apart from whose it is. @typedef {{kind: MarkKind, at: string, power_kw: number | null, text: string, smell: string[]}} Saying */

/**
 * @param {object} given
 * @param {Saying} given.start
 * @param {boolean} given.known one that was placed before
 * @param {string} given.zone
 * @param {readonly string[]} given.offered words used in this record
 * @param {() => number} given.latest the mark may not stand after it
 * @param {(saying: Saying) => void} given.place
 * @param {() => void} given.leave
 * @param {(() => void) | null} given.remove
 */
export function makeMarkForm({ start, known, zone, offered, latest, place, leave, remove }) {
  let kind = start.kind;
  let at_ms = Date.parse(start.at);
  const when = make("output", { class: "when" });
  const power = make("input", { inputmode: "decimal", autocomplete: "off", id: "mark-power" });
  const smell = make("input", { autocomplete: "off", id: "mark-smell" });
  const text = make("input", { autocomplete: "off", id: "mark-text" });
  const kinds = make("div", { class: "chips", role: "group", "aria-label": say("mark.kind") }, ...KINDS.map((each) => chip(say(`mark.short.${each}`), () => choose(each))));
  const powers = row("mark-power", say("mark.power_kw"), power, make("span", { class: "unit" }, "kW"));
  const memory = make("div", { class: "chips memory" }, ...merged(offered, words()).slice(0, 10).map((word) => chip(word, () => toggle(word))));
  power.value = start.power_kw === null ? "" : String(start.power_kw);
  smell.value = start.smell.join(", ");
  text.value = start.text;
  smell.addEventListener("input", show);

  const nudges = make("div", { class: "nudges", role: "group", "aria-label": say("mark.at") }, ...NUDGES.map(nudge));
  nudges.insertBefore(when, nudges.children[2] ?? null);
  const go = pressFor(say(known ? "mark.save" : "mark.place"), () => {
    const saying = { kind, at: new Date(at_ms).toISOString(), power_kw: kind === "power" ? numberOf(power.value) : null, text: text.value.trim(), smell: split(smell.value) };
    remember(saying.smell);
    place(saying);
  }, "main");
  const root = make("div", { class: "sheetlet" }, kinds, nudges, powers,
    row("mark-smell", say("mark.smell"), smell), row("mark-text", say("mark.text"), text), memory,
    make("div", { class: "presses" }, go, pressFor(say("mark.leave"), leave), ...(remove ? [pressFor(say("mark.remove"), remove)] : [])));
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape") leave();
    if (event.key === "Enter" && event.target instanceof HTMLInputElement) go.click();
  });

  /** @param {MarkKind} next */
  function choose(next) {
    kind = next;
    show();
    if (kind === "power") power.focus();
    if (kind === "note") text.focus();
  }

  /** @param {string} word */
  function toggle(word) {
    const now = split(smell.value);
    smell.value = (now.includes(word) ? now.filter((each) => each !== word) : [...now, word]).join(", ");
    show();
  }

  /** @param {number} seconds */
  function nudge(seconds) {
    const name = say(`mark.${seconds < 0 ? "earlier" : "later"}.${Math.abs(seconds)}`);
    const sign = `${seconds < 0 ? "\u2212" : "+"}${Math.abs(seconds) === 60 ? "1 min" : "10 s"}`;
    const button = pressFor(sign, () => {
      at_ms = Math.min(latest(), at_ms + seconds * 1000);
      show();
    });
    setAttributes(button, { "aria-label": name });
    return button;
  }

  function show() {
    setText(when, timeToSecond(at_ms, zone));
    powers.hidden = kind !== "power";
    const smelled = split(smell.value);
    KINDS.forEach((each, index) => setAttributes(/** @type {Element} */ (kinds.children[index]), { "aria-pressed": String(each === kind) }));
    for (const each of memory.children) setAttributes(each, { "aria-pressed": String(smelled.includes(each.textContent ?? "")) });
  }

  show();
  return root;
}

/** @param {string} text @param {() => void} act */
export function chip(text, act) {
  return pressFor(text, act, "chip");
}

/** @param {string} id @param {string} label @param {...Node} inputs */
function row(id, label, ...inputs) {
  return make("div", { class: "row" }, make("label", { for: id }, label), make("span", { class: "given" }, ...inputs));
}

/** @param {string} text */
function numberOf(text) {
  const typed = text.trim().replace(",", ".");
  if (typed === "") return null;
  return /** @type {number} */ (Number.isFinite(Number(typed)) ? Number(typed) : typed); // the service refuses it in its own words
}

/** "20.4 °C" @param {number} celsius @param {import("../shared/units.js").Unit} unit */
export function warmth(celsius, unit) {
  return `${temperature(celsius, unit)} ${unitSign(unit)}`;
}
