// A jar's steppers, started where its volume and strength most likely are.

import { say } from "../texts.js";
import { makeJarStrip } from "./jar_strip.js";

const STEP_L = 0.05;

/**
 * @param {NowRun} run
 * @param {JarRecord} jar with what was entered of it
 * @param {object} how
 * @param {"C" | "F"} how.unit
 * @param {boolean} how.offers whether what is likely is offered, or what was entered stands alone
 * @param {(measured: import("./jar_strip.js").Measured) => void} how.keep
 * @param {() => void} how.leave
 */
export function stripFor(run, jar, { unit, offers, keep, leave }) {
  return makeJarStrip({
    jar, unit, keep, leave,
    from: offers && jar.temperature_c === null ? (run.liquid_temperature_from ?? null) : null,
    strength: run.shows_strength ?? true,
    step_l: run.volume_step_l ?? STEP_L,
    offer: offers ? likelyOf(run, jar) : { volume_l: null, abv: null, temperature_c: null },
  });
}

/** Where a jar's steppers start: its volume by its own weighing, else as the scale under it says. @param {NowRun} run @param {JarRecord} jar */
export function likelyOf(run, jar) {
  const weighed = jar.mass_kg == null ? null : jar.volume_at_20_c_l;
  const offered = run.offered?.find(({ jar_id }) => jar_id === jar.id)?.volume_l;
  return { volume_l: weighed ?? offered ?? likelyVolume(run, jar), abv: halves(run.expected_reading_abv ?? run.expected_abv), temperature_c: run.liquid_temperature_c };
}

/** What a jar that was just measured came to. @param {NowRun} run @param {string | null} id */
export function measuredText(run, id) {
  const jar = run.jars.find((each) => each.id === id);
  const volume = jar?.volume_at_20_c_l ?? jar?.volume_l;
  if (!jar || jar.abv == null || jar.pure_alcohol_l == null || volume == null) return null;
  return say("jar.corrected", { number: jar.number, abv: jar.abv.toFixed(1), volume: volume.toFixed(2), alcohol: jar.pure_alcohol_l.toFixed(3) });
}

/** As an alcoholometer is read. @param {number | null} abv */
function halves(abv) {
  return abv === null ? null : Math.round(abv * 2) / 2;
}

/** Where the volume's stepper starts: what ran at the present rate, else the jar before. @param {NowRun} run @param {JarRecord} jar */
function likelyVolume(run, jar) {
  const before = run.jars.findLast(({ volume_l, id }) => volume_l !== null && id !== jar.id)?.volume_l ?? run.jar_volume_l ?? null;
  if (run.rate_ml_min === null || jar.ended_at === null) return before;
  const minutes = (Date.parse(jar.ended_at) - Date.parse(jar.began_at)) / 60_000;
  const step = run.volume_step_l ?? STEP_L;
  return Math.round((run.rate_ml_min * minutes) / 1000 / step) * step;
}
