// Where a calculation takes the pressure: the one the still is under, at a press.

import { get } from "../shared/api.js";
import { ask, make } from "../shared/dom.js";
import { say } from "../texts.js";
import { said, scaleOf } from "./values.js";

const NAME = "pressure_hpa";

/**
 * Offer the pressure beside its field, in the units shown; once more, and the first offer goes.
 * @param {readonly import("./field.js").Field[]} fields
 * @param {Record<string, UsUnit>} us_units
 * @param {Units} units
 */
export async function offerPressure(fields, us_units, units) {
  const field = fields.find(({ item }) => item.name === NAME);
  if (!field) return;
  /** @type {Pressure} */
  let pressure;
  try {
    pressure = await get("pressure");
  } catch {
    return; // the form does without
  }
  const scale = scaleOf(field.item.unit, us_units, units);
  const value = Number(pressure.pressure_hpa.toFixed(field.item.decimals ?? 1));
  const text = `${said(value, field.item.decimals ?? 1, scale)} ${scale.unit}`;
  const use = make("button", { type: "button", class: "quiet use" }, say(`given.${pressure.source}`, { pressure: text }));
  use.addEventListener("click", () => {
    field.put(value);
    ask(field.root, "given");
  });
  field.root.querySelector(".use")?.remove();
  field.root.append(use);
}
