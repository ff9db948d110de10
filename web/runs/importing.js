// A past run from files: a recorded trace, with jars and marks that were noted at the time. It is
// taken whole or not at all; what is wrong is said with its line.

import { get, Refusal, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";

const PURPOSES = ["spirit", "strip", "single", "botanical", "feints", "cleaning", "sacrificial"];
const FILES = ["trace", "jars", "marks"];
const FILE_REFUSED = "import_file"; // as the service calls it
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
    else inside.replaceChildren(form(stills, site.time_zone, (made) => told(inside, made)));
  } catch (error) {
    console.info("what an import asks for could not be loaded", error);
    setText(trouble, say("entry.silent"));
  }
}

/** To the run, at once where all was taken; else once it is read what was not. @param {HTMLElement} inside @param {ImportedRun} made */
function told(inside, { run_id, batch, left_out }) {
  const href = `run.html?id=${run_id}`;
  if (left_out.length === 0) return location.assign(href);
  const there = make("a", { class: "press main", href }, say("runs.import.look"));
  inside.replaceChildren(make("p", { role: "status" }, say("runs.import.leftout", { batch, columns: left_out.join(", ") })), make("p", {}, there));
  there.focus();
}

/** @param {readonly VesselRecord[]} stills @param {string} zone @param {(made: ImportedRun) => void} done */
function form(stills, zone, done) {
  const troubles = Object.fromEntries(FILES.map((name) => [name, make("p", { class: "trouble", id: `import-${name}-trouble`, role: "alert" })]));
  const files = Object.fromEntries(FILES.map((name) => [name, make("input", { id: `import-${name}`, type: "file", accept: ".csv,text/csv", "aria-describedby": `import-${name}-trouble` })]));
  const asked = FILES.map((name) =>
    make("div", { class: "row file" }, make("label", { for: `import-${name}` }, say(`runs.import.${name}`)), /** @type {HTMLInputElement} */ (files[name]), make("p", { class: "hint" }, say(`runs.import.${name}.hint`)), /** @type {HTMLElement} */ (troubles[name])),
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
      for (const trouble of Object.values(troubles)) setText(trouble, "");
      try {
        done(await send("POST", "reviews/imports", {}, body, undefined, PATIENCE_MS));
      } catch (error) {
        if (!(error instanceof Refusal) || error.kind !== FILE_REFUSED) throw error;
        const name = FILES.find((each) => each === error.field) ?? "trace";
        setText(/** @type {HTMLElement} */ (troubles[name]), error.message); // as it is: a time in it is to be copied
        files[name]?.focus();
      }
    },
  });
}

/** @param {HTMLInputElement | undefined} input @returns {Promise<string | null>} */
async function read(input) {
  const file = input?.files?.[0];
  return file ? await file.text() : null;
}
