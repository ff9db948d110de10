// What ends this kind of run and what its vapour leaves against, as the distiller says it.

import { get, Refusal, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { say } from "../texts.js";

const STRIPS = ["strip", "sacrificial", "cleaning"];

/** @param {VesselEstimates} one @param {() => void} kept */
export function makeEndForm(one, kept) {
  const which = STRIPS.includes(one.stage) ? "strip" : "cut";
  const spout = field(one.end_abv);
  const left = field(one.end_left_percent);
  const seal = field(null);
  const vacuum = make("input", { type: "checkbox" });
  seal.disabled = vacuum.disabled = true; // until what was said of them is here
  const said = make("p", { class: "said", role: "status" });
  const form = make("form", { class: "end" },
    make("h3", {}, say("est.end.title")), make("p", { class: "note" }, say("est.end.note")),
    make("label", {}, make("span", {}, say("est.end.spout")), make("span", { class: "with" }, spout, " % vol")),
    make("label", {}, make("span", {}, say("est.end.alcohol")), make("span", { class: "with" }, left, " %")),
    make("label", {}, make("span", {}, say("est.end.seal")), make("span", { class: "with" }, seal, " hPa")),
    make("label", {}, make("span", {}, say("est.end.vacuum")), vacuum),
    make("button", { type: "submit" }, say("est.end.keep")), said);
  void showWay(which, seal, vacuum);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const end = { spout_abv: numberIn(spout), left_percent: numberIn(left), seal_hpa: numberIn(seal), vacuum: vacuum.checked };
    if (!isEnd(end)) return setText(said, say("est.end.nothing"));
    if (!isSeal(end)) return setText(said, say("est.end.noseal"));
    try {
      /** @type {RunEndsRecord} */
      const before = await get("estimates/run-ends");
      const way = seal.disabled ? {} : { seal_hpa: end.seal_hpa, vacuum: end.vacuum };
      const next = { ...before[which], spout_abv: end.spout_abv, left_percent: end.left_percent, ...way };
      await send("PUT", "estimates/run-ends", {}, { ...before, [which]: next });
      setText(said, say("est.end.kept"));
      kept();
    } catch (error) {
      setText(said, error instanceof Refusal ? error.message : say("sheet.noanswer"));
    }
  });
  return form;
}

/**
 * What was said of the vapour's way comes with the ends, not with the estimates.
 * @param {"strip" | "cut"} which @param {HTMLInputElement} seal @param {HTMLInputElement} vacuum
 */
async function showWay(which, seal, vacuum) {
  try {
    /** @type {RunEndsRecord} */
    const { [which]: end } = await get("estimates/run-ends");
    seal.value = end.seal_hpa === null ? "" : String(end.seal_hpa);
    vacuum.checked = end.vacuum;
    seal.disabled = vacuum.disabled = false;
  } catch (error) {
    console.info("what was said of the still's seal does not load; it stays as it was", error);
  }
}

/** @param {number | null} value */
function field(value) {
  return make("input", { type: "text", inputmode: "decimal", size: 5, autocomplete: "off", value: value === null ? "" : String(value) });
}

/** Empty is null; what is no number is NaN. @param {HTMLInputElement} input */
function numberIn({ value }) {
  return value.trim() === "" ? null : Number(value.trim());
}

/** @param {RunEnd} end */
function isSeal({ seal_hpa }) {
  return seal_hpa === null || (seal_hpa > 0 && seal_hpa <= 200);
}

/** @param {RunEnd} end */
function isEnd({ spout_abv, left_percent }) {
  const fits = (/** @type {number | null} */ value) => value === null || (value > 0 && value < 100);
  return fits(spout_abv) && fits(left_percent) && (spout_abv !== null || left_percent !== null);
}
