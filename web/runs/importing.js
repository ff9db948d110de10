// A past run from files: a recorded trace, with jars and marks that were noted at the time. It is
// taken whole or not at all; what is wrong is said with its line.

import { get, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";

const PURPOSES = ["spirit", "strip", "single", "botanical", "feints", "cleaning", "sacrificial"];
const FILES = ["trace", "jars", "marks"];
const PATIENCE_MS = 130_000; // a day of readings is read, checked and stored

/** A fold at the foot of the list of runs; what it asks for is loaded when it is opened. */
export function makeImporting() {
  const inside = make("div", {});
  const root = make("details", { class: "part importing" }, make("summary", {}, say("runs.import")), inside);
  root.addEventListener("toggle", () => {
    if (root.open && inside.childElementCount === 0) void fill(inside);
  });
  return { root };
}

/** @param {HTMLElement} inside */
async function fill(inside) {
  const trouble = make("p", { class: "trouble", role: "alert" });
  inside.replaceChildren(trouble);
  try {
    const [site, vessels] = await Promise.all([get("site"), get("vessels")]);
    const stills = vessels.filter((/** @type {VesselRecord} */ { kind }) => kind === "still");
    if (stills.length === 0) setText(trouble, say("runs.import.nostill"));
    else inside.replaceChildren(form(stills, site.time_zone));
  } catch (error) {
    console.info("what an import asks for could not be loaded", error);
    setText(trouble, say("entry.silent"));
  }
}

/** @param {readonly VesselRecord[]} stills @param {string} zone */
function form(stills, zone) {
  const files = Object.fromEntries(FILES.map((name) => [name, make("input", { id: `import-${name}`, type: "file", accept: ".csv,text/csv" })]));
  const asked = FILES.map((name) =>
    make("div", { class: "row file" }, make("label", { for: `import-${name}` }, say(`runs.import.${name}`)), /** @type {HTMLInputElement} */ (files[name]), make("p", { class: "hint" }, say(`runs.import.${name}.hint`))),
  );
  return makeEntry({
    key: "import",
    zone,
    submit: say("runs.import.press"),
    lead: [make("p", { class: "hint" }, say("runs.import.rests", { zone })), ...asked],
    fields: [
      { name: "vessel_id", label: say("runs.vessel"), kind: "choice", choices: stills.map(({ id, name }) => [id, name]), value: stills[0]?.id ?? "" },
      { name: "purpose", label: say("runs.purpose"), kind: "choice", choices: PURPOSES.map((each) => [each, say(`purpose.${each}`)]), value: "spirit" },
      { name: "batch", label: say("runs.import.batch"), blank: true, hint: say("runs.import.batch.hint") },
      { name: "charge_volume_l", label: say("runs.import.charge"), kind: "number", unit: "L", optional: true },
      { name: "charge_abv", label: say("runs.import.charge.abv"), kind: "number", unit: "% vol", optional: true },
    ],
    act: async (values) => {
      const texts = await Promise.all(FILES.map((name) => read(files[name])));
      const body = { ...values, ...Object.fromEntries(FILES.map((name, place) => [name, texts[place]])) };
      body.trace ??= "";
      const made = await send("POST", "reviews/imports", {}, body, undefined, PATIENCE_MS);
      location.assign(`run.html?id=${made.run_id}`);
    },
  });
}

/** @param {HTMLInputElement | undefined} input @returns {Promise<string | null>} */
async function read(input) {
  const file = input?.files?.[0];
  return file ? await file.text() : null;
}
