// A form of entries: labels, hints, the service's sentence at its field, and what was typed kept
// until it is taken.

import { readTyped } from "../bench/values.js";
import { say } from "../texts.js";
import { Refusal } from "./api.js";
import { wholeTime } from "./clock.js";
import { make, setText } from "./dom.js";
import { momentOf, stampOf } from "./stamp.js";

const MOMENT = /\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)/g;

/**
 * One thing to enter.
 * @typedef {object} Field
 * @property {string} name
 * @property {string} label
 * @property {"text" | "long" | "number" | "choice" | "time" | "tick"} [kind]
 * @property {string} [unit]
 * @property {string} [hint]
 * @property {readonly (readonly [string, string])[]} [choices] value and label
 * @property {string | number | boolean | null} [value]
 * @property {boolean} [optional] an empty one is sent as null
 * @property {boolean} [blank] an empty one is sent as an empty text
 * @property {boolean} [more] stands behind “more” until it is wanted
 * @property {readonly [string, string]} [when] is asked only where another field has this value; else it is null
 */

/** @typedef {Record<string, string | number | boolean | null>} Entered */

/**
 * @param {object} given
 * @param {string} given.key tells its fields' ids from other forms'
 * @param {readonly Field[]} given.fields
 * @param {string} given.submit
 * @param {string} given.zone the site's time zone
 * @param {(values: Entered) => Promise<unknown>} given.act
 * @param {(() => void) | null} [given.cancel]
 * @param {(() => void) | null} [given.again] loads what stands now, when it was changed meanwhile; what was typed stays
 * @param {(Node | string)[]} [given.lead] what stands above the fields
 * @param {boolean} [given.plain] where a larger thing to press is elsewhere
 */
export function makeEntry({ key, fields, submit, zone, act, cancel = null, again = null, lead = [], plain = false }) {
  const rows = fields.map((field) => makeRow(key, field, zone));
  const trouble = make("p", { class: "trouble", role: "alert", hidden: true });
  const press = make("button", { class: plain ? null : "main" }, submit);
  const buttons = make("div", { class: "presses" }, press);
  if (cancel) buttons.append(pressFor(say("entry.cancel"), cancel));
  const form = make("form", { class: "entry", novalidate: true }, ...lead, ...rows.filter(({ more }) => !more).map(({ root }) => root), trouble, buttons);
  const later = rows.filter(({ more }) => more);
  const ask = () => rows.forEach(({ root, when }) => (root.hidden = when !== undefined && rows.find(({ name }) => name === when[0])?.value() !== when[1]));
  form.addEventListener("input", ask);
  ask();
  if (later.length > 0) trouble.before(make("details", {}, make("summary", {}, say("entry.more")), ...later.map(({ root }) => root)));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    for (const row of rows) row.complain("");
    trouble.hidden = true;
    const unsure = rows.find((row) => !row.root.hidden && row.unsure() !== "");
    if (unsure) return unsure.complain(unsure.unsure());
    press.disabled = true;
    try {
      await act(Object.fromEntries(rows.map((row) => [row.name, row.value()])));
    } catch (error) {
      complain(error);
      if (error instanceof Refusal && error.status === 409) again?.();
    } finally {
      press.disabled = false;
    }
  });
  form.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && cancel) cancel();
  });

  /** @param {unknown} error */
  function complain(error) {
    const at = error instanceof Refusal ? rowOf(error) : null;
    const text = timed(labelled(problemText(error), fields), zone);
    if (at) return at.complain(text);
    setText(trouble, text);
    trouble.hidden = false;
  }

  /** A refusal names the field; a check across fields has it in its sentence. @param {Refusal} refusal */
  function rowOf({ field, message }) {
    const named = rows.find(({ name }) => name === field);
    return named ?? (field === null ? rows.find(({ name }) => name.includes("_") && message.includes(name)) : undefined);
  }
  return form;
}

/** A refusal as people read it: by the labels before them, not by the names programs send. @param {string} sentence @param {readonly Field[]} fields */
export function labelled(sentence, fields) {
  return fields
    .filter(({ name, kind }) => kind === "number" && name.includes("_")) // “limit” is a word of people's too
    .reduce((text, { name, label }) => text.replace(new RegExp(`\\b${name}\\b`, "g"), `“${label}”`), sentence);
}

/** A refusal's moments by the site's clock. @param {string} sentence @param {string} zone */
export function timed(sentence, zone) {
  return sentence.replace(MOMENT, (moment) => wholeTime(Date.parse(moment.replace(" ", "T")), zone));
}

/** What went wrong, in one sentence for people. @param {unknown} error */
export function problemText(error) {
  if (error instanceof Refusal) return error.message;
  console.info("the service did not take it", error);
  return say("entry.silent");
}

/** @param {string} text @param {() => void} act @param {string} [kind] */
export function pressFor(text, act, kind) {
  const button = make("button", { type: "button", class: kind }, text);
  button.addEventListener("click", act);
  return button;
}

/** Do something that may be refused; the sentence stands beside the press. @param {string} text @param {() => Promise<unknown>} act @param {string} [kind] */
export function deedFor(text, act, kind) {
  const trouble = make("span", { class: "trouble", role: "alert" });
  const button = pressFor(text, async () => {
    setText(trouble, "");
    button.disabled = true;
    try {
      await act();
    } catch (error) {
      setText(trouble, problemText(error));
    } finally {
      button.disabled = false;
    }
  }, kind);
  return make("span", { class: "deed" }, button, trouble);
}

/** @param {string} key @param {Field} field @param {string} zone */
function makeRow(key, field, zone) {
  const id = `${key}-${field.name}`;
  const input = makeInput(field, id, zone);
  const trouble = make("p", { class: "trouble", id: `${id}-trouble`, role: "alert" });
  const hint = make("p", { class: "hint", id: `${id}-hint` }, field.hint ?? "");
  input.setAttribute("aria-describedby", `${id}-hint ${id}-trouble`);
  const label = make("label", { for: id }, field.label);
  const line = make("span", { class: "given" }, input, ...(field.unit ? [make("span", { class: "unit" }, field.unit)] : []));
  const root = make("div", { class: `row ${field.kind ?? "text"}` }, ...(field.kind === "tick" ? [line, label] : [label, line]), hint, trouble);
  return {
    root,
    name: field.name,
    more: field.more ?? false,
    when: field.when,
    value: () => (root.hidden ? null : valueOf(field, input, zone)),
    unsure: () => (field.kind === "number" && readTyped(input.value).kind === "comma" ? say("entry.comma", { text: input.value }) : ""),
    /** @param {string} text */
    complain(text) {
      setText(trouble, text);
      if (text) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
      const details = root.closest("details");
      if (text && details) details.open = true;
      if (text) input.focus();
    },
  };
}

/** @param {Field} field @param {string} id @param {string} zone */
function makeInput(field, id, zone) {
  const value = field.value ?? "";
  if (field.kind === "choice") {
    const select = make("select", { id, name: field.name });
    for (const [each, label] of field.choices ?? []) select.append(make("option", { value: each }, label));
    select.value = String(value);
    return select;
  }
  if (field.kind === "long") {
    const area = make("textarea", { id, name: field.name, rows: 3 });
    area.value = String(value);
    return area;
  }
  const input = make("input", { id, name: field.name, autocomplete: "off" });
  if (field.kind === "number") input.inputMode = "decimal";
  if (field.kind === "time") input.type = "datetime-local";
  if (field.kind === "tick") {
    input.type = "checkbox";
    input.checked = value === true;
  } else input.value = field.kind === "time" && value ? stampOf(Date.parse(String(value)), zone) : String(value);
  return input;
}

/** @param {Field} field @param {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} input @param {string} zone */
function valueOf(field, input, zone) {
  if (input instanceof HTMLInputElement && field.kind === "tick") return input.checked;
  const text = input.value.trim();
  if (text === "") return field.blank ? "" : null;
  if (field.kind === "time") return momentOf(text, zone);
  if (field.kind !== "number") return text;
  const typed = readTyped(text);
  if (typed.kind !== "number") return text; // the service refuses it in its own words
  return typed.shown;
}
