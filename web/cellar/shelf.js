// The jars of a run side by side: as high as they are strong, each class with its letter and its
// pattern.

import { make, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { cutOf, LETTERS } from "../record/run.js";

/** @param {RunRecord} run @param {string | null} chosen @param {(id: string) => void} choose */
export function makeRow(run, chosen, choose) {
  return make("ol", { class: "jars", "aria-label": say("cellar.row", { batch: run.batch }) }, ...run.jars.map((jar) => makeJar(jar, run, jar.id === chosen, choose)));
}

/** @param {JarRecord} jar @param {RunRecord} run @param {boolean} open @param {(id: string) => void} choose */
function makeJar(jar, run, open, choose) {
  const cut = cutOf(jar, run);
  const strong = jar.abv ?? null;
  const glass = make("span", { class: "glass", "data-cut": cut ?? "none" }, make("b", {}, cut ? LETTERS[cut] : "?"));
  glass.style.height = `${strong === null ? 100 : Math.max(18, strong)}%`;
  const button = make("button", { type: "button", id: `jar-${jar.id}` },
    make("span", { class: "strong", "aria-hidden": "true" }, strong === null ? "–" : strong.toFixed(1)),
    make("span", { class: "well", "aria-hidden": "true" }, glass),
    make("span", { class: "number", "aria-hidden": "true" }, String(jar.number)),
    make("span", { class: "unseen" }, label(jar, cut)),
    make("span", { class: "litres" }, litres(jar)));
  setAttributes(button, { "aria-expanded": String(open), "data-unread": strong === null, "data-waiting": jar.waiting ?? null, "data-basis": jar.abv_basis ?? null, "data-poured": jar.is_gone === true });
  button.addEventListener("click", () => choose(jar.id));
  return make("li", {}, button);
}

/** @param {JarRecord} jar */
function litres(jar) {
  if (jar.is_gone) return say("cellar.poured");
  const volume = jar.volume_at_20_c_l ?? jar.volume_l;
  return volume == null ? "" : `${volume.toFixed(2)} L`;
}

/** @param {JarRecord} jar @param {Cut | null} cut */
function label(jar, cut) {
  const strong = jar.abv == null ? say("cellar.unread") : say("cellar.strong", { abv: jar.abv.toFixed(1) });
  return say("cellar.jar", { number: jar.number, class: say(`cut.${cut ?? "none"}`), strong });
}

/** What stands between the rows and what they hold. @param {HTMLElement} element @param {RunRecord} run @param {(ms: number) => string} day */
export function fillTitle(element, run, day) {
  setText(element, say("cellar.run", { batch: run.batch, purpose: run.purpose, day: day(Date.parse(run.started_at)) }));
}
