// A jar's own page, which the code on its label opens.

import "../shared/texts.js";
import "../record/texts.js";
import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { find, make, setText } from "../shared/dom.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { makeJarCard } from "../record/jar_card.js";
import { makeKeeper } from "../record/keeper.js";
import { cutOf, overlaid } from "../record/run.js";

/** @typedef {{jar: JarRecord, run: RunRecord, lot: LotRecord | null} | {missing: string}} Found */

const id = new URLSearchParams(location.search).get("id");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const place = make("div");
const more = make("p", { class: "others" }, make("a", { class: "quiet", href: "cellar.html" }, say("own.cellar")), ...(id ? [make("a", { class: "quiet", href: `api/labels/jars/${id}`, target: "_blank" }, say("own.label"))] : []));
/** @type {Found | null} */
let found = null;
let zone = "UTC";
/** @type {ReturnType<typeof makeJarCard> | null} */
let card = null;
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => draw(), zone: () => zone });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, place, more));

/** @returns {Promise<Found>} */
async function load() {
  if (!id) return { missing: say("own.none") };
  try {
    /** @type {JarRecord} */
    const jar = await get(`jars/${encodeURIComponent(id)}`);
    const [run, lot] = await Promise.all([get(`runs/${jar.run_id}`), jar.lot_id ? get(`lots/${jar.lot_id}`).catch(() => null) : null]);
    return { jar, run, lot };
  } catch (error) {
    if (error instanceof Refusal) return { missing: say("own.unknown") };
    throw error;
  }
}

/** @param {Found} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  found = loaded;
  zone = ground.zone;
  draw();
}

function draw() {
  if (!found) return;
  if ("missing" in found) return setText(says, found.missing);
  const { jar: told, lot } = found;
  const run = overlaid(found.run, keeper.entries());
  const jar = run.jars.find((each) => each.id === told.id) ?? told;
  const cut = say(`cut.${cutOf(jar, run.marks) ?? "none"}`);
  const words = { number: jar.number, batch: run.batch, class: cut };
  const litres = jar.volume_at_20_c_l ?? jar.volume_l;
  const volume = litres === null ? "" : parts("own.volume", { volume: litres.toFixed(2) });
  says.replaceChildren(...woven(jar.abv == null ? parts("own.says", words) : parts("own.says.strong", { ...words, abv: jar.abv.toFixed(1), volume })));
  setText(rests, [jar.withdrawn ? say("own.gone") : "", lot ? say("own.poured", { lot: lot.name }) : ""].filter(Boolean).join(" "));
  card ??= makeJarCard({ jar, run, zone, keeper, apart: true });
  card.show(jar, run);
  if (place.firstElementChild !== card.root) place.replaceChildren(card.root);
}

const refresh = startPage("cellar", load, show);
