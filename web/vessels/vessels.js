// The vessels page: what stands in the house, what holds it, and the places on it.

import "../shared/texts.js";
import "./texts.js";
import { get } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { find, keepList, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { say } from "../texts.js";
import { occupancyForm, vesselForm } from "./forms.js";
import { drawRibbons } from "./ribbon.js";
import { makeShelf } from "./shelf.js";
import { tellVessels } from "./tell.js";

/**
 * Everything the page knows.
 * @typedef {object} Yard
 * @property {VesselRecord[]} vessels
 * @property {PlaceRecord[]} places
 * @property {CondenserRecord[]} condensers
 * @property {OccupancyRecord[]} occupancies
 * @property {ProbeRecord[]} probes
 * @property {LotRecord[]} lots
 * @property {KnownPlace[]} known
 * @property {import("../shared/page.js").Ground} ground
 */

/** @typedef {{yard: () => Yard, refresh: () => Promise<void>}} Means */

const ROOM = "room";

const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = make("button", { type: "button", class: "press main" });
const more = make("p", { class: "others" });
const doing = make("div", { class: "doing" });
const ribbons = make("div", {});
const list = make("ul", { class: "wire" });
find(document, "#main").append(make("section", { class: "home" }, says, rests, press, more, doing, ribbons, list));

/** @type {Yard | null} */
let yard = null;
/** @type {"vessel" | "places" | "batch"} */
let next = "vessel";
/** @type {Map<string, ReturnType<typeof makeShelf>>} */
const shelves = new Map();

/** @type {Means} */
const means = {
  yard: () => {
    if (!yard) throw new Error("the page is used before it is loaded");
    return yard;
  },
  refresh: () => refresh(),
};

async function load() {
  const [vessels, places, condensers, occupancies, probes, lots, known] = await Promise.all(
    ["vessels", "places", "condensers", "occupancies", "probes", "lots", "places/names"].map((path) => get(path)),
  );
  return { vessels, places, condensers, occupancies, probes, lots, known };
}

/** @param {Omit<Yard, "ground">} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  yard = { ...loaded, ground };
  const now = Date.now();
  const told = tellVessels(yard.vessels, yard.occupancies, yard.places, yard.lots, now, (at) => saidTime(Date.parse(at), now, ground.zone));
  next = told.next;
  says.replaceChildren(...woven(told.says));
  setText(rests, told.rests);
  setText(press, say(`vessels.press.${next}`));
  more.replaceChildren(
    ...(next === "vessel" ? [] : [pressFor(say("vessels.press.vessel"), () => open("vessel"), "quiet")]),
    make("a", { class: "quiet", href: "probes.html" }, say("vessels.to.probes")),
    make("a", { class: "quiet", href: "guide.html" }, say("vessels.to.guide")),
  );
  const ribbon = drawRibbons(yard.vessels, yard.occupancies, now, ground.zone);
  ribbons.replaceChildren(...(ribbon ? [ribbon] : []));
  const ids = [...yard.vessels.map(({ id }) => id), ...(yard.vessels.length || yard.places.length ? [ROOM] : [])];
  keepList(list, ids, (id) => id, (id) => {
    const shelf = makeShelf(id === ROOM ? null : id, means);
    shelves.set(id, shelf);
    return shelf.root;
  }, (_, id) => shelves.get(id)?.show());
}

/** @param {typeof next} what */
function open(what) {
  const { vessels, ground } = means.yard();
  const ways = { zone: ground.zone, close, done, again: () => void refresh() };
  const [first] = vessels;
  if (what === "vessel" || !first) put(vesselForm(null, ways));
  else if (what === "places") shelves.get((vessels.find(({ kind }) => kind === "still") ?? first).id)?.open();
  else if (vessels.length === 1) put(occupancyForm(first, null, ways));
  else put(make("div", {}, make("p", { class: "hint" }, say("vessels.which")), make("div", { class: "deeds" }, ...vessels.map((vessel) => pressFor(vessel.name, () => put(occupancyForm(vessel, null, ways)))))));
}

/** @param {HTMLElement} form */
function put(form) {
  press.hidden = true;
  doing.replaceChildren(form);
  const first = doing.querySelector("input, select, button");
  if (first instanceof HTMLElement) first.focus();
}

function close() {
  press.hidden = false;
  doing.replaceChildren();
}

async function done() {
  close();
  await refresh();
}

press.addEventListener("click", () => open(next));
const refresh = startPage("vessels", load, show);
