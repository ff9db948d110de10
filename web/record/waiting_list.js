// What waits for the service, as people see it: how much, and what was refused or met another's
// change, each with what can be done about it.

import { find, keepList, make, setText } from "../shared/dom.js";
import { labelled, pressFor, timed } from "../shared/entry.js";
import { differences } from "../shared/queue.js";
import { say } from "../texts.js";
import { shownValue } from "./shown.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {import("../shared/waiting.js").WaitingQueue} WaitingQueue */

/**
 * @param {HTMLElement} root
 * @param {() => WaitingQueue} queue
 * @param {() => string} zone the site's
 * @param {((entry: Waiting) => void) | null} [mend] opens what was refused for mending
 * @param {(entry: Waiting) => boolean} [mends] whether it can
 */
export function mountWaiting(root, queue, zone, mend = null, mends = () => true) {
  const line = make("p", { class: "waits", role: "status" });
  const list = make("ul", { "aria-label": say("waiting.label") });
  root.classList.add("waiting");
  root.append(line, list);
  return (/** @type {readonly Waiting[]} */ entries, /** @type {string | null} */ held) => {
    const waits = held !== null || entries.some(({ attempts }) => attempts > 0); // else they are just on their way
    const quiet = waits ? entries.filter(({ trouble }) => !trouble) : [];
    const troubled = entries.filter(({ trouble }) => trouble);
    root.hidden = quiet.length + troubled.length === 0;
    line.hidden = quiet.length === 0;
    setText(line, quiet.length === 0 ? "" : lineText(quiet.length, queue().lasting, held));
    keepList(list, troubled, ({ id, trouble }) => `${id} ${trouble?.status}`, (entry) => makeItem(entry, queue(), mend && mends(entry) ? mend : null), (item, entry) => fill(item, entry, zone()));
  };
}

/** @param {number} count @param {boolean} lasting @param {string | null} held */
function lineText(count, lasting, held) {
  const many = say(count === 1 ? "waiting.one" : "waiting.many", { count });
  const safe = lasting ? (count === 1 ? "waiting.safe.one" : "waiting.safe") : "waiting.unsafe";
  return [many, held, say(safe)].filter(Boolean).join(" ");
}

/** @param {Waiting} entry @param {WaitingQueue} queue @param {((entry: Waiting) => void) | null} mend */
function makeItem(entry, queue, mend) {
  const met = entry.trouble?.now != null;
  const deeds = met
    ? [pressFor(say("waiting.mine"), () => void queue.insist(entry.id)), pressFor(say("waiting.theirs"), () => void queue.drop(entry.id))]
    : [
        ...(mend ? [pressFor(say("waiting.mend"), () => mend(entry))] : []),
        pressFor(say("waiting.again"), () => void queue.mend(entry.id, {})),
        pressFor(say("waiting.drop"), () => void queue.drop(entry.id)),
      ];
  return make("li", { role: "alert" }, make("b"), make("span"), make("div", { class: "deeds" }, ...deeds));
}

/** @param {Element} item @param {Waiting} entry @param {string} zone */
function fill(item, entry, zone) {
  setText(find(item, "b"), entry.label);
  setText(find(item, "span"), troubleText(entry, zone));
}

/** @param {Waiting} entry @param {string} zone */
export function troubleText(entry, zone) {
  const { trouble } = entry;
  if (!trouble) return "";
  const sentence = timed(labelled(trouble.sentence, named()), zone);
  if (!trouble.now) return say("waiting.refused", { sentence });
  const changes = differences(entry).map(({ name, mine, theirs }) => say("waiting.change", { field: fieldName(name), mine: shownValue(mine, name, zone), theirs: shownValue(theirs, name, zone) }));
  return changes.length > 0 ? say("waiting.changed", { changes: changes.join(", ") }) : say("waiting.gone", { sentence });
}

const NAMED = ["at", "kind", "text", "smell", "power_kw", "volume_l", "mass_kg", "reading_abv", "temperature_c", "cut", "began_at", "ended_at", "number", "name", "vessel_id", "batch", "origin", "tare_kg", "to_lot", "from_lot"];
/** As the forms name them. */
const named = () => NAMED.map((name) => ({ name, label: say(`field.${name}`), kind: /** @type {const} */ ("number") }));

/** @param {string} name */
function fieldName(name) {
  return NAMED.includes(name) ? say(`field.${name}`) : name.replaceAll("_", " ");
}
