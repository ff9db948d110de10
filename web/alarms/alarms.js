// The alarms page: what stands now, and behind it the past, how loud it has been, the rules and
// who is called. The address says which is open: #past, #loud, #rules, #rules/NAME, #calls.

import "../shared/texts.js";
import "../banner/texts.js";
import "../vessels/texts.js";
import "./texts.js";
import { get } from "../shared/api.js";
import { find, make, on, setText } from "../shared/dom.js";
import { startPage, woven } from "../shared/page.js";
import { say } from "../texts.js";
import { callsPart } from "./calls.js";
import { cautions } from "./cautions.js";
import { loudPart } from "./loud.js";
import { pastPart } from "./past.js";
import { rulesPart } from "./rules.js";
import { makeStanding } from "./standing.js";
import { makeStills } from "./stills.js";
import { tellAlarms } from "./tell.js";

/** A part of the page that is opened by its name. @typedef {{root: HTMLElement, fresh?: () => void}} Part */

const PARTS = { past: pastPart, loud: loudPart, rules: rulesPart, calls: callsPart };

const main = find(document, "#main");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const others = make("p", { class: "others" }, ...Object.keys(PARTS).map((key) => make("a", { class: "quiet", href: `#${key}` }, say(`alarms.part.${key}`))));
const first = make("p", { class: "first" });
/** @type {import("../shared/page.js").Ground | null} */
let ground = null;
/** @type {AlarmsNow | null} */
let body = null;
/** @type {Part | null} */
let part = null;
let open = "";

const means = {
  ground: () => {
    if (!ground) throw new Error("the page is used before it is loaded");
    return ground;
  },
  /** The banner shows the same, and hands it on. @param {AlarmsNow} found */
  take: (found) => void document.dispatchEvent(new CustomEvent("alarms", { detail: found })),
};
const standing = makeStanding(means);
const stills = makeStills(means);
const home = make("section", { class: "home" }, says, rests, others, standing.root, first, stills.root, cautions());
const room = make("section", { class: "task", hidden: true });
main.append(home, room);

/** @param {AlarmsNow} found */
function take(found) {
  body = found;
  if (ground) show(found, ground);
}

/** @param {AlarmsNow} found @param {import("../shared/page.js").Ground} on_ground */
function show(found, on_ground) {
  body = found;
  ground = on_ground;
  const { says: saying, rests: resting } = tellAlarms(found);
  const text = saying.map((one) => one.text).join("");
  if (says.textContent !== text) says.replaceChildren(...woven(saying));
  setText(rests, resting);
  standing.show(found);
  stills.show(found.stages);
  first.hidden = found.now.length + found.aside.length > 0;
  setText(first, say("alarms.first"));
  go();
}

/** Open what the address names. */
function go() {
  if (!ground || location.hash === open) return;
  open = location.hash;
  const [name = "", ...about] = decodeURIComponent(open.slice(1)).split("/");
  const make_part = name in PARTS ? PARTS[/** @type {keyof typeof PARTS} */ (name)] : null;
  part = make_part ? make_part(means, about.join("/")) : null;
  home.hidden = part !== null;
  room.hidden = part === null;
  room.replaceChildren(...(part ? [back(about.length > 0 ? name : ""), part.root] : []));
  document.title = `${part ? say(`alarms.part.${name}`) : say("page.alarms")} · ${say("app.name")}`;
  if (part) scrollTo(0, 0);
}

/** @param {string} name of the part one came from */
function back(name) {
  return make("a", { class: "quiet back", href: `#${name}` }, say(name ? `alarms.part.${name}` : "alarms.back"));
}

addEventListener("hashchange", go);
document.addEventListener("look", () => part?.fresh?.());
on(document, "alarmed", (/** @type {AlarmsNow} */ found) => body !== found && take(found));
startPage("alarms", () => /** @type {Promise<AlarmsNow>} */ (get("alarms")), show);
