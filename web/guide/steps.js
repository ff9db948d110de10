// What each step of the guide asks, and where it is kept.

import { send } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { vesselForm } from "../vessels/forms.js";

/** @typedef {import("./guide.js").Setting} Setting */
/** @typedef {import("../shared/entry.js").Field} Field */

/**
 * @param {string} name
 * @param {() => Setting} now
 * @param {(stay: boolean) => Promise<void>} saved
 * @returns {HTMLElement}
 */
export function stepForm(name, now, saved) {
  const { site, zone } = now().ground;
  if (name === "vessels") return vesselStep(now, saved);
  if (name === "probes") return probesStep(now);
  if (name === "pressure") return pressureStep(now, saved);
  const fields = /** @type {Record<string, Field[]>} */ ({
    owner: [
      { name: "owner", label: say("guide.owner"), value: site.owner ?? "", blank: true },
      { name: "name", label: say("guide.name"), value: site.name },
    ],
    lawful_basis: [{ name: "lawful_basis", label: say("guide.lawful"), kind: "long", value: site.lawful_basis ?? "", hint: say("guide.lawful.hint"), blank: true }],
    time_zone: [{ name: "time_zone", label: say("guide.zone"), kind: "choice", value: zone, choices: zones(now()).map((one) => /** @type {[string, string]} */ ([one, one.replaceAll("_", " ")])) }],
    units: [{ name: "temperature_unit", label: say("guide.unit"), kind: "choice", value: site.temperature_unit, choices: [["C", say("look.unit.C")], ["F", say("look.unit.F")]] }],
  });
  return makeEntry({
    key: `guide-${name}`,
    zone,
    fields: fields[name] ?? [],
    submit: say("guide.keep"),
    again: () => void saved(true),
    act: async (values) => {
      await send("PUT", "site", {}, { ...values, version: now().ground.site.version });
      await saved(false);
    },
  });
}

/** The site's zone is always among them. @param {Setting} setting */
function zones({ zones: all, ground }) {
  return [...new Set([ground.zone, "UTC", ...all])].sort();
}

/** Altitude, or a barometer's reading: either is enough. @param {() => Setting} now @param {(stay: boolean) => Promise<void>} saved */
function pressureStep(now, saved) {
  const { site, zone } = now().ground;
  return makeEntry({
    key: "guide-pressure",
    zone,
    fields: [
      { name: "altitude_m", label: say("guide.altitude"), kind: "number", unit: "m", value: site.altitude_m, hint: say("guide.altitude.hint") },
      { name: "pressure_hpa", label: say("guide.pressure"), kind: "number", unit: "hPa", hint: say("guide.pressure.hint") },
    ],
    submit: say("guide.keep"),
    act: async ({ altitude_m, pressure_hpa }) => {
      if (pressure_hpa !== null) await send("PUT", "pressure", {}, { pressure_hpa });
      await send("PUT", "site", {}, { altitude_m, version: now().ground.site.version });
      await saved(false);
    },
  });
}

/** @param {() => Setting} now @param {(stay: boolean) => Promise<void>} saved */
function vesselStep(now, saved) {
  const { vessels, ground } = now();
  const form = vesselForm(null, { zone: ground.zone, close: () => void saved(false), done: () => saved(true), again: () => void saved(true) });
  const there = vessels.map(({ name }) => make("li", {}, name));
  return make("div", {}, ...(there.length ? [make("p", { class: "hint" }, say("guide.vessels.there")), make("ul", { class: "there" }, ...there), make("a", { class: "quiet", href: "vessels.html" }, say("guide.vessels.places"))] : []), form);
}

/** @param {() => Setting} now */
function probesStep(now) {
  const none = now().vessels.length === 0;
  return make("div", {}, make("p", { class: "first" }, say(none ? "guide.probes.novessel" : "guide.probes.how")),
    make("div", { class: "presses" }, make("a", { class: "press", href: "vessels.html" }, say("guide.vessels.places")), make("a", { class: "press main", href: "probes.html#warm" }, say("guide.probes.warm"))));
}
