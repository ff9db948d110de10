// The simulation's panel: what can go wrong is made to go wrong, and taken back; time is made to
// pass. Only where the house is a simulation; it opens under the header and covers nothing.

import "./texts.js";
import { get, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { deedFor, problemText } from "../shared/entry.js";
import { say } from "../texts.js";
import { chosenBody, jumpable, orderOf, standingText } from "./orders.js";

const POLL_MS = 3000;
const JUMPS_S = [600, 1800, 7200];

/** @typedef {import("./orders.js").Simulation} Simulation */

/** @param {() => void} close */
export function makePanel(close) {
  const title = make("h2", { id: "simulation-title", tabindex: -1 }, say("sim.title"));
  const truth = make("p", { class: "truth" });
  const standing = make("ul", { class: "standing", "aria-label": say("sim.standing") });
  const what = make("select", { id: "sim-what" });
  const at = make("select", { id: "sim-at" });
  const other = make("select", { id: "sim-other" });
  const amount = make("input", { id: "sim-amount", inputmode: "decimal", autocomplete: "off" });
  const unit = make("span", { class: "unit" });
  const rows = {
    at: make("div", { class: "row" }, make("label", { for: "sim-at" }, say("sim.at")), at),
    other: make("div", { class: "row" }, make("label", { for: "sim-other" }, say("sim.other")), other),
    amount: make("div", { class: "row number" }, make("label", { for: "sim-amount" }, say("sim.amount")), make("span", { class: "given" }, amount, unit)),
  };
  const cause = deedFor(say("sim.cause"), causeIt, "main");
  const jumps = make("div", { class: "deeds" }, ...JUMPS_S.map((seconds) => deedFor(say("sim.jump", { minutes: seconds / 60 }), async () => show(await send("POST", "simulation/jump", {}, { seconds })))));
  const jumping = make("div", { class: "jumping" }, make("h3", {}, say("sim.jump.title")), make("p", { class: "hint" }, say("sim.jump.hint")), jumps);
  const shut = make("button", { type: "button", class: "quiet" }, say("sim.close"));
  shut.addEventListener("click", close);
  const form = make("div", { class: "entry" }, make("h3", {}, say("sim.cause.title")), make("div", { class: "row" }, make("label", { for: "sim-what" }, say("sim.what")), what), rows.at, rows.other, rows.amount, make("div", { class: "presses" }, cause));
  const root = make("section", { class: "simulation", "aria-labelledby": "simulation-title" }, make("header", {}, title, shut), truth, standing, make("div", { class: "causing" }, form, jumping));
  /** @type {Simulation | null} */
  let now = null;
  let timer = 0;
  let drawn = "";

  what.addEventListener("change", fields);

  /** @param {Simulation} found */
  function show(found) {
    now = found;
    const { says, plant } = found;
    setText(truth, plant ? say("sim.truth", { says, vapour: plant.vapour_abv.toFixed(0), collected: plant.collected_l.toFixed(1), pressure: plant.pressure_hpa.toFixed(0) }) : says);
    const items = standingText(found).map(({ text, order }) => make("li", {}, make("span", {}, text), deedFor(say("sim.end"), async () => show(await send("POST", order.path, {}, order.body)))));
    const stood = JSON.stringify(standingText(found));
    if (stood !== drawn) {
      drawn = stood;
      standing.replaceChildren(...items);
    }
    standing.hidden = items.length === 0;
    jumping.hidden = !jumpable(found);
    if (what.options.length === 0) {
      for (const kind of /** @type {const} */ (["bus", "plant"])) {
        const all = found.faults.filter((one) => one.kind === kind && (kind === "bus" || found.plant !== null));
        const group = make("optgroup", { label: say(`sim.${kind}`) }, ...all.map((one) => make("option", { value: one.name }, one.says)));
        if (all.length) what.append(group);
      }
      fields();
    }
  }

  /** The fields that the chosen fault wants. */
  function fields() {
    const fault = now?.faults.find(({ name }) => name === what.value);
    if (!now || !fault) return;
    const places = fault.kind === "bus" ? now.probes.map(({ probe_id, place, vessel }) => /** @type {const} */ ([probe_id, place ? [place.replaceAll("_", " "), vessel].filter(Boolean).join(", ") : probe_id])) : now.places.map((place) => /** @type {const} */ ([place, place.replaceAll("_", " ")]));
    for (const select of [at, other]) select.replaceChildren(...places.map(([value, label]) => make("option", { value }, label)));
    if (other.options.length > 1) other.selectedIndex = 1;
    rows.at.hidden = fault.kind === "plant" && fault.places === 0;
    rows.other.hidden = fault.places < 2;
    rows.amount.hidden = fault.unit === null;
    amount.value = fault.amount === null ? "" : String(fault.amount);
    setText(unit, fault.unit ?? "");
  }

  async function causeIt() {
    const fault = now?.faults.find(({ name }) => name === what.value);
    if (!fault) return;
    const order = orderOf(fault, chosenBody(fault, at.value, other.value, amount.value));
    show(await send("POST", order.path, {}, order.body));
  }

  async function look() {
    clearTimeout(timer);
    try {
      show(await get("simulation"));
    } catch (error) {
      setText(truth, problemText(error));
    }
    if (root.isConnected) timer = window.setTimeout(() => void look(), POLL_MS);
  }

  return {
    root,
    open() {
      void look();
      title.focus();
    },
  };
}
