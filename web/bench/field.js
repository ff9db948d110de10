// One thing a calculation takes, as a line of the ledger: what it is and its range at the left,
// its value and unit at the right, what was refused beneath.

import { make, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { choiceText, fieldText, limitText, readTyped, scaleOf, toMetric } from "./values.js";

const FEW = 3; // choices that stand side by side

/** What a field gives: nothing, a value, or what keeps it from giving one. @typedef {{value: number | string | null, problem: string | null}} Reading */
/**
 * @typedef {object} Field
 * @property {Taken} item
 * @property {HTMLElement} root
 * @property {() => Reading} read
 * @property {(value: Given | null) => void} put
 * @property {(units: Units) => void} show
 * @property {(sentence: string | null) => void} refuse
 */

/** @param {Taken} item @param {Record<string, UsUnit>} us_units @returns {Field} */
export function makeField(item, us_units) {
  const control = item.choices.length > 0 ? choiceControl(item) : numberControl(item, us_units);
  const error = make("p", { class: "refused", id: `error-${item.name}`, "aria-live": "polite", hidden: true });
  const hint = make("span", { class: "range", id: `range-${item.name}` });
  const name = make(control.group ? "span" : "label", { class: "name", id: `name-${item.name}`, for: control.group ? null : control.id }, item.label);
  const root = make("div", { class: "field", "data-name": item.name }, make("div", { class: "what" }, name, hint), control.root, error);
  const focusable = control.group ? [control.root] : [...control.root.querySelectorAll("input, select")];
  const describe = (/** @type {boolean} */ bad) => {
    for (const one of focusable) setAttributes(one, { "aria-invalid": bad ? "true" : null, "aria-describedby": bad ? `${error.id} ${hint.id}` : hint.id });
  };
  describe(false);
  return {
    item, root, read: control.read, put: control.put,
    show(units) {
      control.show(units);
      setText(hint, rangeText(item, us_units, units));
    },
    refuse(sentence) {
      setText(error, sentence ?? "");
      error.hidden = sentence === null;
      root.classList.toggle("bad", sentence !== null);
      describe(sentence !== null);
    },
  };
}

/** "−20 to 110, 20 if left empty" @param {Taken} item @param {Record<string, UsUnit>} us_units @param {Units} units */
export function rangeText(item, us_units, units) {
  const scale = scaleOf(item.unit, us_units, units);
  const parts = [];
  if (item.low !== null && item.high !== null) parts.push(say("given.range", { low: limitText(item.low, scale, "low"), high: limitText(item.high, scale, "high") }));
  if (!item.required && typeof item.default === "number") parts.push(say("given.default", { value: defaultText(item.default, item, scale) }));
  else if (!item.required && item.default === null) parts.push(say("given.optional"));
  return parts.join(", ");
}

/** @param {number} value @param {Taken} item @param {import("./values.js").Scale} scale */
function defaultText(value, { decimals }, scale) {
  return fieldText(value, decimals ?? 6, scale).replace("-", "\u2212");
}

/** @param {Taken} item @param {Record<string, UsUnit>} us_units */
function numberControl(item, us_units) {
  const id = `given-${item.name}`;
  const cell = makeNumber(item, us_units, { id });
  const unit = make("span", { class: "unit" });
  const root = make("div", { class: "value" }, cell.input, unit);
  return {
    id, root, group: false, read: cell.read, put: cell.put,
    /** @param {Units} units */
    show(units) {
      cell.show(units);
      setText(unit, scaleOf(item.unit, us_units, units).unit);
    },
  };
}

/**
 * An input for a number that keeps it in metric, and what was typed for each unit.
 * @param {Taken} item
 * @param {Record<string, UsUnit>} us_units
 * @param {Record<string, string>} attributes
 */
export function makeNumber(item, us_units, attributes) {
  const input = make("input", { type: "text", inputmode: item.low !== null && item.low < 0 ? "text" : "decimal", autocomplete: "off", spellcheck: "false", enterkeyhint: "done", ...attributes });
  /** @type {Units} */
  let units = "metric";
  /** @type {number | string | null} */
  let kept = null; // metric; a text is what could not be read as a number
  /** @type {Partial<Record<Units, string>>} */
  let texts = {};
  const scale = () => scaleOf(item.unit, us_units, units);
  const fill = () => {
    input.value = texts[units] ?? (typeof kept === "number" ? fieldText(kept, item.decimals ?? 6, scale()) : (kept ?? ""));
  };
  input.addEventListener("input", () => {
    const typed = readTyped(input.value);
    texts = { [units]: input.value };
    kept = typed.kind === "number" ? toMetric(typed.shown, scale()) : typed.kind === "empty" ? null : typed.text;
  });
  return {
    input,
    /** @returns {Reading} */
    read() {
      const typed = readTyped(input.value);
      if (typed.kind === "comma") return { value: null, problem: say("given.comma", { text: typed.text }) };
      return { value: kept, problem: null };
    },
    /** @param {Given | null} value metric */
    put(value) {
      const typed = readTyped(String(value ?? ""));
      kept = typed.kind === "number" ? typed.shown : typed.kind === "empty" ? null : typed.text;
      texts = {};
      fill();
    },
    /** @param {Units} now */
    show(now) {
      units = now;
      fill();
    },
  };
}

/** @param {Taken} item */
function choiceControl(item) {
  const known = (/** @type {Given | null} */ value) => item.choices.find((one) => one === value) ?? null;
  if (item.choices.length > FEW) return selectControl(item, known);
  const root = make("div", { class: "choices", role: "radiogroup", "aria-labelledby": `name-${item.name}` });
  const inputs = item.choices.map((choice) => {
    const input = make("input", { type: "radio", name: item.name, value: choice });
    root.append(make("label", {}, input, make("span", {}, choiceText(choice))));
    return input;
  });
  return {
    id: "", root, group: true, show() {},
    read: () => ({ value: inputs.find(({ checked }) => checked)?.value ?? null, problem: null }),
    /** @param {Given | null} value */
    put(value) {
      for (const input of inputs) input.checked = input.value === (known(value) ?? item.default);
    },
  };
}

/** @param {Taken} item @param {(value: Given | null) => string | null} known */
function selectControl(item, known) {
  const id = `given-${item.name}`;
  const select = makeSelect(item, { id });
  return {
    id, root: make("div", { class: "value" }, select), group: false, show() {},
    read: () => ({ value: select.value || null, problem: null }),
    /** @param {Given | null} value */
    put(value) {
      select.value = String(known(value) ?? item.default ?? item.choices[0] ?? "");
    },
  };
}

/** @param {Taken} item @param {Record<string, string>} attributes */
export function makeSelect(item, attributes) {
  const select = make("select", attributes);
  for (const choice of item.choices) select.append(make("option", { value: choice }, choiceText(choice)));
  return select;
}
