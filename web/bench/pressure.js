// Where a calculation takes the pressure: the one the still is under, at a press.

import { get } from "../shared/api.js";
import { ask, make } from "../shared/dom.js";
import { say } from "../texts.js";

const NAME = "pressure_hpa";

/** @param {readonly import("./field.js").Field[]} fields */
export async function addPressure(fields) {
  const field = fields.find(({ item }) => item.name === NAME && item.unit === "hPa");
  if (!field) return;
  /** @type {Pressure} */
  let pressure;
  try {
    pressure = await get("pressure");
  } catch {
    return; // the form does without
  }
  const value = Number(pressure.pressure_hpa.toFixed(1));
  const use = make("button", { type: "button", class: "quiet use" }, say(`given.${pressure.source}`, { pressure: value }));
  use.addEventListener("click", () => {
    field.put(value);
    ask(field.root, "given");
  });
  field.root.append(use);
}
