// The short list before the heat goes on: what is computed is said, what must be seen is ticked.

import { keepList, make, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";

/** @typedef {{key: string, label: string, state: string, sentence: string, ticked: boolean, ticked_by: string | null}} Check */
/** @typedef {{run_id: string, checks: Check[], ready: boolean, caution: string}} Checklist */

const TO_TICK = "to tick";

/** @param {HTMLElement} root @param {(key: string) => void} tick */
export function mountChecklist(root, tick) {
  const summary = make("summary", {});
  const list = make("ul", {});
  const caution = make("p", { class: "hint" });
  const charge = make("a", { class: "quiet", href: "cellar.html", hidden: true }, say("check.charge"));
  const details = make("details", {}, summary, list, charge, caution);
  root.classList.add("checklist");
  root.append(details);
  return (/** @type {Checklist | null} */ checklist, /** @type {ReadonlySet<string>} */ waiting) => {
    root.hidden = checklist === null;
    if (!checklist) return;
    const checks = checklist.checks.map((check) => ({ ...check, ticked: check.ticked || waiting.has(check.key) }));
    const left = checks.filter(isLeft).length;
    setText(summary, left === 0 ? say("check.done") : say("check.left", { count: left, all: checks.length }));
    setText(caution, checklist.caution);
    charge.hidden = !checks.some(({ state }) => state === "not known");
    keepList(list, checks, ({ key }) => key, (check) => makeLine(check, tick), (item, check) => {
      const button = item.querySelector("button");
      if (button) setAttributes(button, { "aria-pressed": String(check.ticked), disabled: check.ticked });
      setAttributes(item, { "data-state": check.state === TO_TICK ? (check.ticked ? "seen" : "open") : check.state });
      setText(/** @type {Element} */ (item.querySelector(".label")), check.label);
      setText(/** @type {Element} */ (item.querySelector(".says-so")), check.sentence);
    });
  };
}

/** @param {Check} check */
function isLeft({ state, ticked }) {
  return state === TO_TICK ? !ticked : !["ok", "near"].includes(state);
}

/** @param {Check} check @param {(key: string) => void} tick */
function makeLine({ key, state }, tick) {
  const said = make("span", { class: "said" }, make("span", { class: "label" }), " ", make("small", { class: "says-so" }));
  if (state !== TO_TICK) return make("li", { class: "computed" }, make("span", { class: "box", "aria-hidden": "true" }), said);
  const button = make("button", { type: "button" }, make("span", { class: "box", "aria-hidden": "true" }), said);
  button.addEventListener("click", () => tick(key));
  return make("li", {}, button);
}
