// What is in store, how strong, and from where: searched, filtered and sorted by the service.

import { get } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { makeFinder } from "../shared/finder.js";
import { renew } from "../record/follow.js";
import { say } from "../texts.js";

const KINDS = ["wash", "low_wines", "feints", "spirit", "jar", "backset", "blend", "cask", "bottles", "water", "other"];
const SORTS = ["since", "name", "kind", "batch", "volume_l", "abv", "pure_alcohol_l"];
const PAGE = 100;

/** @param {() => void} changed something else is looked for */
export function makeStore(changed) {
  let limit = PAGE;
  const finder = makeFinder({
    name: "store",
    label: say("cellar.find"),
    filters: [
      { name: "kind", label: say("cellar.find.kind"), options: [["", say("finder.any")], ...KINDS.map((kind) => /** @type {[string, string]} */ ([kind, say(`lot.${kind}`)]))] },
      { name: "empty", label: say("cellar.find.empty"), options: [["left out", say("cellar.empty.left")], ["shown", say("cellar.empty.shown")]] },
    ],
    sorts: SORTS.map((name) => [name, say(`cellar.sort.${name}`)]),
    changed: () => {
      limit = PAGE;
      changed();
    },
  });
  const sums = make("p", { class: "rests" });
  const list = make("div");
  const more = make("button", { type: "button" }, say("cellar.more"));
  more.addEventListener("click", () => {
    limit += PAGE;
    changed();
  });
  const root = make("section", { class: "store" }, make("h2", {}, say("cellar.store")), sums, finder.root, list, more);

  return {
    root,
    /** @returns {Promise<CellarAnswer>} */
    load: () => get("reviews/cellar", { ...finder.query(), limit }),
    /** @param {CellarAnswer} found @param {readonly LotRecord[]} waiting those not sent yet @param {(ms: number) => string} day */
    show({ total, volume_l, pure_alcohol_l, lots }, waiting, day) {
      const said = { volume: volume_l.toFixed(1), alcohol: pure_alcohol_l.toFixed(2), count: total };
      setText(sums, total === 0 ? "" : say(total === 1 ? "cellar.sums.one" : "cellar.sums", said));
      more.hidden = lots.length >= total;
      renew(list, lots.length + waiting.length === 0
        ? make("p", { class: "hint" }, say(finder.active() ? "cellar.store.nofit" : "cellar.store.none"))
        : make("ul", { class: "wire" }, ...waiting.map(waitingKnot), ...lots.map((lot) => knot(lot, day))));
    },
  };
}

/** @param {LotRow} lot @param {(ms: number) => string} day */
function knot({ id, name, kind, volume_l, abv, pure_alcohol_l, vessel, origin, came_from, since }, day) {
  const held = [say(`lot.${kind}`), vessel ? say("cellar.lot.where", { vessel }) : "", abv === null ? "" : say("cellar.lot.strong", { abv: abv.toFixed(1) }),
    pure_alcohol_l === null ? "" : say("cellar.lot.alcohol", { alcohol: pure_alcohol_l.toFixed(2) })];
  const from = came_from.length > 0 ? came_from.join(", ") : origin;
  const state = say(from ? "cellar.lot.from" : "cellar.lot.since", { from, day: day(Date.parse(since)) });
  return made(id, name || say(`lot.${kind}`), volume_l, held, state, volume_l === 0 ? "free" : null);
}

/** @param {LotRecord} lot */
function waitingKnot({ id, name, kind, now }) {
  return made(id, name || say(`lot.${kind}`), now?.volume_l ?? null, [say(`lot.${kind}`)], say("batch.waits"), "open");
}

/** @param {string} id @param {string} name @param {number | null} volume_l @param {readonly string[]} held @param {string} state @param {string | null} how */
function made(id, name, volume_l, held, state, how) {
  return make("li", { class: how }, make("a", { class: "knot", href: `lot.html?id=${id}` },
    make("span", { class: "name" }, name),
    make("span", { class: "value" }, volume_l === null ? "–" : say("cellar.lot.amount", { volume: volume_l.toFixed(1) })),
    make("span", { class: "about" }, held.filter(Boolean).join(", ")),
    make("span", { class: "state" }, state)));
}
