// What a lot holds, and how it was read, in words. Pure.

import { parts, say } from "../texts.js";

/** @param {number} value @param {number | null | undefined} error @param {number} digits */
function withError(value, error, digits) {
  return error == null ? value.toFixed(digits) : say("lots.error", { value: value.toFixed(digits), error: error.toFixed(digits) });
}

/** What is known of a quantity, with the error of each number. @param {Holding | null} holding */
export function holdingText(holding) {
  if (!holding || (holding.volume_l === null && holding.abv === null)) return say("lots.unknown");
  const { volume_l, volume_error_l, abv, abv_error, pure_alcohol_l, pure_alcohol_error_l } = holding;
  if (volume_l === 0) return say("lots.empty");
  return [
    volume_l === null ? "" : say("lots.volume", { volume: withError(volume_l, volume_error_l, 2) }),
    abv === null ? "" : say("lots.strength", { abv: withError(abv, abv_error, 2) }),
    pure_alcohol_l === null ? "" : say("lots.alcohol", { alcohol: withError(pure_alcohol_l, pure_alcohol_error_l, 3) }),
  ].filter(Boolean).join(", ");
}

/** What went, shortly. @param {Holding | null} holding */
export function shortText(holding) {
  if (holding?.volume_l == null) return holding?.abv == null ? "–" : say("lots.strength", { abv: holding.abv.toFixed(1) });
  const litres = say("lots.volume", { volume: holding.volume_l.toFixed(2) });
  return holding.abv === null ? litres : `${litres}, ${say("lots.strength", { abv: holding.abv.toFixed(1) })}`;
}

/** What a cask has lost by itself, or why that is not known. @param {CaskRecord | null} cask as it was weighed last */
export function lossText(cask) {
  if (!cask) return say("lots.cask.unweighed");
  const { lost_pure_alcohol_l: lost, loss_percent_per_year: yearly, loss_why: why } = cask;
  return [
    lost === null ? "" : lost < 0 ? say("lots.cask.gained", { gained: (-lost).toFixed(3) }) : say("lots.cask.lost", { lost: lost.toFixed(3) }),
    yearly === null || (lost ?? 0) < 0 ? "" : say("lots.cask.yearly", { percent: yearly.toFixed(1) }),
    why === null ? "" : say("lots.cask.why", { why }),
  ].filter(Boolean).join(" ");
}

/** A number that was worked out (a mass less its tare) ends where an instrument does. @param {any} value of a form that waits, whatever was typed */
function bare(value) {
  return typeof value === "number" ? Number(value.toFixed(3)) : (value ?? "");
}

/** As the instruments showed it. @param {Gauging} read */
export function readText(read) {
  const { volume_l, volume_temperature_c, mass_kg, reading_abv, temperature_c, instrument } = read;
  const said = [
    volume_l === null ? "" : volume_temperature_c === null ? say("lots.read.volume", { volume: bare(volume_l) }) : say("lots.read.volumeat", { volume: bare(volume_l), temperature: bare(volume_temperature_c) }),
    mass_kg === null ? "" : say("lots.read.mass", { mass: bare(mass_kg) }),
    reading_abv === null ? "" : say("lots.read.strength", { reading: bare(reading_abv), temperature: bare(temperature_c), instrument: say(`instrument.${instrument ?? "alcoholometer_20c"}`) }),
  ].filter(Boolean);
  return said.length === 0 ? "" : say("lots.read", { list: said.join(", ") });
}

/** Where a lot stands on its way to a strength. @param {ProofingRecord} plan */
export function wayTo({ why, reached, target_abv, abv, water_volume_l, water_mass_kg, volume_l }) {
  const goal = target_abv;
  if (volume_l === 0) return parts(abv === null ? "plan.gone" : "plan.gone.at", { goal, abv: abv?.toFixed(2) ?? "" });
  if (why) return parts("plan.unknown", { goal, why });
  const now = { goal, abv: (abv ?? 0).toFixed(2), volume: (volume_l ?? 0).toFixed(2) };
  if (reached) return parts("plan.reached", now);
  if (water_volume_l === null) return parts("plan.below", now);
  return parts("plan.says", { ...now, water: water_volume_l.toFixed(3), mass: (water_mass_kg ?? 0).toFixed(3) });
}
