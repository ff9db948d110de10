// The guide: what there is to say of a new house, step by step; each may be left for later.

import "../shared/texts.js";
import "../vessels/texts.js";
import "./texts.js";
import { get, send } from "../shared/api.js";
import { find, keepList, make, setText } from "../shared/dom.js";
import { deedFor } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { stepForm } from "./steps.js";

/** @typedef {{guide: GuideRecord, vessels: VesselRecord[], zones: string[], ground: import("../shared/page.js").Ground}} Setting */

const says = make("h1", { class: "says", tabindex: -1 });
const rests = make("p", { class: "rests" });
const list = make("ol", { class: "wire steps" });
const caution = make("ul", { class: "cautions" });
const onward = make("p", { class: "presses" });
find(document, "#main").append(make("section", { class: "home" }, says, rests, onward, list, caution));

/** @type {Setting | null} */
let setting = null;
/** @type {string | null} the step that is open, where a person chose it */
let chosen = location.hash.slice(1) || null;

async function load() {
  const [guide, vessels] = await Promise.all([/** @type {Promise<GuideRecord>} */ (get("guide")), /** @type {Promise<VesselRecord[]>} */ (get("vessels"))]);
  return { guide, vessels, zones: Intl.supportedValuesOf("timeZone") };
}

/** @param {Omit<Setting, "ground">} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  setting = { ...loaded, ground };
  const { guide } = setting;
  const left = guide.steps.filter(({ state }) => state === "open").length;
  const skipped = guide.steps.filter(({ state }) => state === "skipped").length;
  const fresh = left === guide.steps.length;
  says.replaceChildren(...woven(parts(guide.done ? (skipped ? "guide.says.skipped" : "guide.says.done") : fresh ? "guide.says.first" : left === 1 ? "guide.says.left.one" : "guide.says.left", { count: left, skipped })));
  setText(rests, say(guide.done ? "guide.rests.done" : "guide.rests"));
  onward.hidden = !guide.done;
  onward.replaceChildren(make("a", { class: "press main", href: "./" }, say("guide.now")));
  caution.replaceChildren(make("li", {}, guide.caution));
  const open = chosen ?? guide.next;
  keepList(list, guide.steps, ({ name }) => name, makeStep, (item, step) => fill(/** @type {HTMLElement} */ (item), step, step.name === open));
  document.title = `${say("guide.title")} · ${say("app.name")}`;
}

/** @param {GuideStep} step */
function makeStep({ name }) {
  const head = make("button", { type: "button", class: "knot", "aria-expanded": "false" }, make("span", { class: "name" }), make("span", { class: "about" }), make("span", { class: "state" }));
  head.addEventListener("click", () => choose(head.getAttribute("aria-expanded") === "true" ? "" : name));
  return make("li", {}, head, make("div", { class: "drawer", hidden: true }));
}

/** Open a step, or (empty) none; the next one is open by itself. @param {string | null} name */
function choose(name) {
  chosen = name;
  if (setting) show(setting, setting.ground);
}

/** @param {HTMLElement} item @param {GuideStep} step @param {boolean} open */
function fill(item, step, open) {
  item.className = step.state === "done" ? "good" : step.state;
  setText(find(item, ".name"), step.title);
  setText(find(item, ".about"), say(`guide.state.${step.state}`));
  setText(find(item, ".state"), step.says);
  find(item, ".knot").setAttribute("aria-expanded", String(open));
  const drawer = find(item, ".drawer");
  const opening = drawer.hidden && open;
  drawer.hidden = !open;
  if (!open) drawer.replaceChildren();
  if (opening) draw(drawer, step.name);
}

/** @param {HTMLElement} drawer @param {string} name */
function draw(drawer, name) {
  const now = () => /** @type {Setting} */ (setting);
  const step = now().guide.steps.find((one) => one.name === name);
  if (!step) return;
  const skip = step.state === "open" ? [deedFor(say("guide.skip"), async () => next(await send("PUT", `guide/${name}/skip`)), "quiet")] : [];
  const again = step.state === "skipped" ? [deedFor(say("guide.unskip"), async () => next(await send("DELETE", `guide/${name}/skip`)), "quiet")] : [];
  drawer.replaceChildren(...(step.caution ? [make("ul", { class: "cautions" }, make("li", {}, step.caution))] : []), stepForm(name, now, (stay) => saved(name, stay)), make("div", { class: "deeds" }, ...skip, ...again));
}

/** @param {unknown} _guide what stands now */
async function next(_guide) {
  chosen = null;
  await refresh();
  says.scrollIntoView({ block: "nearest" });
  list.querySelector("[aria-expanded='true']")?.closest("li")?.querySelector("input, select, textarea")?.scrollIntoView({ block: "center" });
}

/** A step is said; `stay` keeps it open, as for one more vessel. @param {string} name @param {boolean} stay */
async function saved(name, stay) {
  if (!stay) return next(null);
  chosen = name;
  await refresh();
  const open = list.querySelector("[aria-expanded='true']")?.closest("li");
  if (open instanceof HTMLElement) draw(find(open, ".drawer"), name);
}

const refresh = startPage("guide", load, show);
addEventListener("hashchange", () => choose(location.hash.slice(1) || null));
