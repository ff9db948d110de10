// What a list of runs is asked for; kept in the address, so that one comes back to the same list.

import { instantOf } from "../shared/clock.js";
import { keepList, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { say } from "../texts.js";

const PURPOSES = ["spirit", "strip", "single", "botanical", "feints", "cleaning", "sacrificial"];
const SORTS = ["started_at", "batch", "vessel", "purpose"];
/** Those of the numbers that runs may be sorted by. */
const SORT_KEYS = ["duration_min", "charge_volume_l", "collected_pure_alcohol_l", "recovered", "hearts_volume_l", "hearts_abv", "energy_kwh_per_l", "alarms"];
const PAUSE_MS = 300;

/** @param {() => void} changed */
export function makeFilters(changed) {
  const kept = new URLSearchParams(location.search);
  const text = make("input", { type: "search", value: kept.get("text") ?? "" });
  const vessel = make("select");
  const purpose = make("select", {}, ...["", ...PURPOSES].map((each) => make("option", { value: each }, each ? say(`purpose.${each}`) : say("runs.any"))));
  const from = make("input", { type: "date", value: kept.get("from") ?? "" });
  const to = make("input", { type: "date", value: kept.get("to") ?? "" });
  const sort = make("select", {}, ...SORTS.map((each) => make("option", { value: each }, say(`runs.sort.${each}`))));
  const order = make("select", {}, ...["falling", "rising"].map((each) => make("option", { value: each }, say(`runs.order.${each}`))));
  const clear = pressFor(say("runs.clear"), () => {
    for (const each of [text, vessel, purpose, from, to]) each.value = "";
    turn();
  }, "quiet");
  purpose.value = kept.get("purpose") ?? "";
  order.value = kept.get("order") ?? "falling";
  const asked = { text, vessel, purpose, from, to, sort, order };
  const labelled = Object.entries(asked).map(([name, field]) => {
    field.id = `find-${name}`;
    return make("p", {}, make("label", { for: field.id }, say(`runs.${name}`)), field);
  });
  const form = make("form", { class: "filters", role: "search", "aria-label": say("runs.filters") }, ...labelled, clear);
  const root = make("details", { class: "finding", open: matchMedia("(min-width: 720px)").matches || kept.size > 0 }, make("summary", {}, say("runs.find")), form);
  let timer = 0;

  function turn() {
    const query = new URLSearchParams(Object.entries(asked).flatMap(([name, field]) => (field.value ? [[name, field.value]] : [])));
    history.replaceState(null, "", `${location.pathname}?${query}`);
    clear.hidden = !active();
    changed();
  }

  function active() {
    return [text, vessel, purpose, from, to].some(({ value }) => value !== "");
  }

  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", turn);
  text.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(turn, PAUSE_MS);
  });
  let wanted = { vessel: kept.get("vessel") ?? "", sort: kept.get("sort") ?? "started_at" };

  return {
    root,
    active,
    /** @param {string} zone @returns {Record<string, string>} */
    query(zone) {
      const day = (/** @type {string} */ value, /** @type {number} */ later) => {
        const [y = 1970, mo = 1, d = 1] = value.split("-").map(Number);
        return new Date(instantOf(zone, y, mo, d + later)).toISOString();
      };
      return Object.fromEntries(Object.entries({
        text: text.value.trim(), vessel_id: vessel.value || wanted.vessel, purpose: purpose.value, from_at: from.value && day(from.value, 0), to_at: to.value && day(to.value, 1), sort: sort.value || wanted.sort, order: order.value,
      }).filter(([, value]) => value));
    },
    /** @param {readonly VesselRecord[]} vessels @param {readonly ReviewKey[]} keys */
    offer(vessels, keys) {
      const stills = vessels.filter(({ kind }) => kind === "still");
      const chosen = vessel.value || wanted.vessel;
      vessel.replaceChildren(make("option", { value: "" }, say("runs.any")), ...stills.map(({ id, name }) => make("option", { value: id }, name)));
      vessel.value = chosen;
      const by = sort.value === "started_at" ? wanted.sort : sort.value;
      const options = [...SORTS.map((name) => ({ name, label: say(`runs.sort.${name}`) })), ...keys.filter(({ name }) => SORT_KEYS.includes(name))];
      keepList(sort, options, ({ name }) => name, ({ name }) => make("option", { value: name }), (element, { label }) => setText(element, label));
      sort.value = by;
      wanted = { vessel: "", sort: "started_at" };
      clear.hidden = !active();
    },
  };
}
