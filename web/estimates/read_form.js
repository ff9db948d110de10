// A strength read at the spout: entered here, it narrows the band at once.

import { Refusal, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { uuid7 } from "../shared/uuid7.js";
import { say } from "../texts.js";

/** @param {VesselEstimates} one @param {() => void} kept */
export function makeReadForm(one, kept) {
  const abv = make("input", { type: "text", inputmode: "decimal", size: 5, autocomplete: "off", "aria-label": `${say("est.read.abv")}, % vol` });
  const at = make("input", { type: "text", inputmode: "decimal", size: 5, autocomplete: "off", "aria-label": `${say("est.read.title")}, °C` });
  const said = make("p", { class: "said", role: "status" });
  const form = make("form", { class: "read" },
    make("h3", {}, say("est.read.title")), make("p", { class: "note" }, say("est.read.note")),
    make("p", { class: "line" }, make("span", { class: "with" }, abv, " % vol"), ` ${say("est.read.at")} `, make("span", { class: "with" }, at, " °C")),
    make("button", { type: "submit" }, say("est.read.keep")), said);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const [reading_abv, temperature_c] = [abv, at].map(({ value }) => (value.trim() === "" ? NaN : Number(value.trim())));
    if (![reading_abv, temperature_c].every(Number.isFinite)) return setText(said, say("est.read.bad"));
    const body = { id: uuid7(), kind: "spout", batch: one.batch, vessel_id: one.vessel_id, reading_abv, temperature_c };
    try {
      const entry = await send("POST", "entries", {}, body);
      setText(said, say("est.read.kept", { abv: Number(entry.abv).toFixed(1) }));
      form.reset();
      kept();
    } catch (error) {
      setText(said, error instanceof Refusal ? error.message : say("sheet.noanswer"));
    }
  });
  return form;
}
