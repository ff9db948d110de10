// One tap behind a statement: what it rests on, what would narrow it, every quantity with its band
// or why it cannot be told, and the two things a person can say to it.

import { get } from "../shared/api.js";
import { keepList, make, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { makeEndForm } from "./end_form.js";
import { band, coolEnough, figure, kept, withUnit } from "./figures.js";
import { makeReadForm } from "./read_form.js";
import { stageName } from "./statement.js";

/** @typedef {import("../now/sheet.js").Told} Told */

/** @param {HTMLElement} root the dialog is kept in */
export function makeDetails(root) {
  const details = new Details();
  root.append(details.dialog);
  return details;
}

class Details {
  /** @type {VesselEstimates | null} */
  shown = null;
  /** @type {import("../shared/units.js").Unit} */
  unit = "C";
  asked = 0;

  constructor() {
    this.title = make("h2", { id: "estimates-title", tabindex: -1, autofocus: true }); // no keyboard rises at once
    this.rows = make("dl", { class: "quantities" });
    this.odds = make("ul", { class: "odds" });
    this.rests = make("ul");
    this.narrows = make("ul");
    this.extra = make("div", { class: "extra" });
    const close = make("button", { type: "button", class: "press close" }, say("est.sheet.close"));
    this.dialog = make("dialog", { class: "look estimates", "aria-labelledby": "estimates-title" },
      this.title, make("p", { class: "note" }, say("est.sheet.note")),
      make("h3", {}, say("est.sheet.odds")), this.odds,
      make("h3", {}, say("est.sheet.rests")), this.rests,
      make("h3", {}, say("est.sheet.narrows")), this.narrows,
      make("h3", {}, say("est.sheet.each")), this.rows, this.extra, make("div", { class: "foot" }, close));
    close.addEventListener("click", () => this.dialog.close());
    this.dialog.addEventListener("click", (event) => {
      if (event.target === this.dialog) this.dialog.close();
    });
  }

  /** @param {VesselEstimates} one @param {Told} told */
  open(one, told) {
    this.unit = told.unit;
    this.shown = one;
    this.extra.replaceChildren(...(one.kind === "still" ? [makeReadForm(one, () => void this.load()), makeEndForm(one, () => void this.load())] : []));
    this.fill();
    this.dialog.showModal();
    void this.load();
  }

  /** @param {Told} told */
  tell({ unit }) {
    if (unit === this.unit) return;
    this.unit = unit;
    this.fill();
  }

  /** The numbers follow what is restated; what they rest on is asked for with them. @param {readonly VesselEstimates[]} known */
  restate(known) {
    if (this.dialog.open && known.some(({ vessel_id }) => vessel_id === this.shown?.vessel_id)) void this.load();
  }

  async load() {
    const mine = (this.asked += 1);
    try {
      /** @type {EstimatesMessage} */
      const { vessels } = await get("estimates");
      const found = vessels.find(({ vessel_id }) => vessel_id === this.shown?.vessel_id);
      if (mine !== this.asked || !found) return;
      this.shown = found;
      this.fill();
    } catch (error) {
      console.info("what the estimates rest on does not load; it is asked for with the next", error);
    }
  }

  fill() {
    const { shown } = this;
    if (!shown) return;
    setText(this.title, say("est.sheet.title", { vessel: shown.vessel, stage: stageName(shown) }));
    keepList(this.rows, shown.estimates, ({ quantity }) => quantity, makeRow, (row, one) => fillRow(row, one, this.unit));
    fillList(this.odds, shown.contradictions);
    const loading = shown.estimates.every(({ rests_on }) => rests_on === undefined);
    fillList(this.rests, loading ? [say("est.sheet.loading")] : allOf(shown, "rests_on"));
    fillList(this.narrows, loading ? [] : allOf(shown, "narrows"));
  }
}

/** @param {VesselEstimates} shown @param {"rests_on" | "narrows"} which */
function allOf({ estimates }, which) {
  return [...new Set(estimates.flatMap((one) => one[which] ?? []))];
}

/** @param {HTMLElement} list @param {readonly string[]} lines */
function fillList(list, lines) {
  list.hidden = lines.length === 0;
  setAttributes(/** @type {Element} */ (list.previousElementSibling), { hidden: lines.length === 0 });
  keepList(list, lines, (line) => line, (line) => make("li", {}, kept(line)), () => {});
}

function makeRow() {
  return make("div", {}, make("dt"), make("dd", {}, make("b"), " ", make("span")));
}

/** @param {Element} row @param {EstimateNow} one @param {import("../shared/units.js").Unit} unit */
function fillRow(row, one, unit) {
  const [name, told] = row.children;
  const [value, range] = told?.children ?? [];
  if (!name || !value || !range) return;
  const found = figure(one);
  setText(name, say(`est.q.${one.quantity}`, { limit: coolEnough(unit) }));
  setText(value, found ? kept(withUnit(found)) : say("est.sheet.why"));
  setText(range, kept([found ? band(found) : "", one.why ?? ""].filter(Boolean).join(". ")));
  row.classList.toggle("untold", !found);
}
