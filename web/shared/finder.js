// A fold over a list, in which one says what is looked for and how it is sorted; kept in the
// address, so that one comes back to the same list.

import { say } from "../texts.js";
import { make } from "./dom.js";
import { pressFor } from "./entry.js";

const PAUSE_MS = 300;
const MOST = 100; // letters

/** @typedef {[value: string, label: string]} Option */
/**
 * @param {object} wants
 * @param {string} wants.name of the list; its fields' ids begin so
 * @param {string} wants.label what is searched
 * @param {{name: string, label: string, options: readonly Option[]}[]} wants.filters each begins as its first option
 * @param {readonly Option[]} wants.sorts the first is how the list begins
 * @param {() => void} wants.changed
 */
export function makeFinder({ name, label, filters, sorts, changed }) {
  const kept = new URLSearchParams(location.search);
  const text = make("input", { type: "search", maxlength: MOST, value: kept.get("text") ?? "" });
  const choices = Object.fromEntries(filters.map((one) => [one.name, chosenOf(one.options, kept.get(one.name))]));
  const sort = chosenOf(sorts, kept.get("sort"));
  const order = chosenOf([["falling", say("finder.falling")], ["rising", say("finder.rising")]], kept.get("order"));
  /** @type {Record<string, HTMLInputElement | HTMLSelectElement>} */
  const fields = { text, ...choices, sort, order };
  const labels = new Map([["text", say("finder.text")], ...filters.map((one) => /** @type {[string, string]} */ ([one.name, one.label])), ["sort", say("finder.sort")], ["order", say("finder.order")]]);
  const clear = pressFor(say("finder.clear"), () => {
    text.value = "";
    for (const each of Object.values(choices)) each.selectedIndex = 0;
    turn();
  }, "quiet");
  const form = make("form", { class: "filters", role: "search", "aria-label": label }, ...Object.entries(fields).map(([key, field]) => {
    field.id = `${name}-${key}`;
    return make("p", {}, make("label", { for: field.id }, labels.get(key) ?? key), field);
  }), clear);
  const root = make("details", { class: "finder", open: active() || sort.selectedIndex > 0 }, make("summary", {}, say("finder.find")), form);
  let timer = 0;

  function active() {
    return text.value.trim() !== "" || Object.values(choices).some((each) => each.selectedIndex > 0);
  }

  function turn() {
    const query = new URLSearchParams(location.search);
    for (const [key, field] of Object.entries(fields)) {
      const isPlain = field instanceof HTMLSelectElement ? field.selectedIndex === 0 : field.value === "";
      if (isPlain) query.delete(key);
      else query.set(key, field.value);
    }
    history.replaceState(null, "", `${location.pathname}${query.size > 0 ? `?${query}` : ""}`);
    clear.hidden = !active();
    changed();
  }

  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", turn);
  text.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(turn, PAUSE_MS);
  });
  clear.hidden = !active();

  return {
    root,
    active,
    /** What the service is asked for. @returns {Record<string, string>} */
    query: () => Object.fromEntries(Object.entries(fields).map(([key, { value }]) => [key, value.trim()]).filter(([, value]) => value)),
  };
}

/** @param {readonly Option[]} options @param {string | null} value */
function chosenOf(options, value) {
  const select = make("select", {}, ...options.map(([each, label]) => make("option", { value: each }, label)));
  if (options.some(([each]) => each === value)) select.value = value ?? "";
  return select;
}
