// The form of a calculation, made from its declaration and nothing else.

import { make, on } from "../shared/dom.js";
import { say } from "../texts.js";
import { makeField } from "./field.js";
import { makeRows } from "./rows.js";

/** What the form holds: values by name as the service takes them, and what keeps them from it. */
/** @typedef {{values: Map<string, Given>, wanted: Taken[], problems: Map<string, string>}} Held */

const SETTLE_MS = 250;

/**
 * Sends the verb `given` when its values change and have settled, or at once on Enter.
 * @param {Declaration} declaration
 * @param {Units} units
 */
export function makeForm({ takes, us_units }, units) {
  const many = takes.filter((item) => item.many);
  const rows = many.length > 0 ? makeRows(many, us_units) : null;
  const fields = takes.filter((item) => !item.many).map((item) => makeField(item, us_units));
  const first = takes.findIndex((item) => item.many);
  const before = takes.slice(0, Math.max(0, first)).length;
  const lines = fields.map((field) => field.root);
  if (rows) lines.splice(before, 0, rows.root);
  const form = make("form", { class: "given", novalidate: true, "aria-label": say("given.title") }, ...lines, make("button", { class: "unseen", tabindex: -1 }, say("says.label")));
  settle(form);

  /** @param {Units} now */
  const show = (now) => {
    for (const field of fields) field.show(now);
    rows?.show(now);
  };
  show(units);
  return {
    form, fields, show,
    /** @returns {Held} */
    read() {
      /** @type {Held} */
      const held = { values: new Map(), wanted: [], problems: new Map() };
      const listed = rows?.read();
      const problem = listed?.problem;
      if (problem && many[0]) held.problems.set(many[0].name, problem);
      for (const item of takes) {
        const field = fields.find((one) => one.item === item);
        const reading = field?.read();
        if (reading?.problem) held.problems.set(item.name, reading.problem);
        const value = reading ? reading.value : (listed?.values.get(item.name) ?? null);
        if (value !== null) held.values.set(item.name, value);
        else if (item.required && !reading?.problem && !problem) held.wanted.push(item);
      }
      return held;
    },
    /** @param {Map<string, Given | null>} values metric, or texts as they stood in an address */
    put(values) {
      for (const field of fields) field.put(values.get(field.item.name) ?? null);
      rows?.put(values);
      show(units);
    },
    /** Say what was refused at its field; true if there is such a field. @param {string | null} name @param {string} sentence */
    refuse(name, sentence) {
      const place = fields.find(({ item }) => item.name === name) ?? (many.some((item) => item.name === name) ? rows : null);
      place?.refuse(sentence);
      return Boolean(place);
    },
    clear() {
      for (const field of fields) field.refuse(null);
      rows?.refuse(null);
    },
    /** @param {Units} now */
    change(now) {
      units = now;
      show(now);
    },
  };
}

/** Wait until typing rests; Enter waits for nothing. @param {HTMLFormElement} form */
function settle(form) {
  let timer = 0;
  const tell = () => {
    clearTimeout(timer);
    form.dispatchEvent(new CustomEvent("settled", { bubbles: true }));
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(tell, SETTLE_MS);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    tell();
  });
  on(form, "given", tell);
}

/** The values a form starts with. @param {readonly Taken[]} takes @returns {Map<string, Given | null>} */
export function exampleOf(takes) {
  return new Map(takes.map(({ name, example }) => [name, example]));
}
