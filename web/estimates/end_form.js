// What ends this kind of run, as the distiller says it.

import { get, Refusal, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { say } from "../texts.js";

const STRIPS = ["strip", "sacrificial", "cleaning"];

/** @param {VesselEstimates} one @param {() => void} kept */
export function makeEndForm(one, kept) {
  const which = STRIPS.includes(one.stage) ? "strip" : "cut";
  const spout = field(one.end_abv);
  const left = field(one.end_left_percent);
  const said = make("p", { class: "said", role: "status" });
  const form = make("form", { class: "end" },
    make("h3", {}, say("est.end.title")), make("p", { class: "note" }, say("est.end.note")),
    make("label", {}, make("span", {}, say("est.end.spout")), make("span", { class: "with" }, spout, " % vol")),
    make("label", {}, make("span", {}, say("est.end.alcohol")), make("span", { class: "with" }, left, " %")),
    make("button", { type: "submit" }, say("est.end.keep")), said);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const end = { spout_abv: numberIn(spout), left_percent: numberIn(left) };
    if (!isEnd(end)) return setText(said, say("est.end.nothing"));
    try {
      /** @type {RunEndsRecord} */
      const { strip, cut, version } = await get("estimates/run-ends");
      await send("PUT", "estimates/run-ends", {}, { strip, cut, [which]: end, version });
      setText(said, say("est.end.kept"));
      kept();
    } catch (error) {
      setText(said, error instanceof Refusal ? error.message : say("sheet.noanswer"));
    }
  });
  return form;
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
function isEnd({ spout_abv, left_percent }) {
  const fits = (/** @type {number | null} */ value) => value === null || (value > 0 && value < 100);
  return fits(spout_abv) && fits(left_percent) && (spout_abv !== null || left_percent !== null);
}
