// When a rule would have sounded in past runs of its stages with the limits as they stand in the
// form, worked out by the service through the same evaluation; shown before anything is saved.

import { Refusal, send } from "../shared/api.js";
import { day, saidTime, timeOfDay } from "../shared/clock.js";
import { make, makeSvg, setText } from "../shared/dom.js";
import { readTyped } from "../bench/values.js";
import { say } from "../texts.js";
import { fromShown } from "./turned.js";
import { positions, tested } from "./tested.js";

const PATIENCE_MS = 120_000; // many hours of readings are judged anew
const MOST_TIMES = 6;
const NAMES = /** @type {const} */ (["limit", "deadband", "on_delay_s", "off_delay_s"]);

/** @param {AlarmRule} rule @param {import("./standing.js").Means} means @param {string | null} condenser_id of one alone */
export function makeBacktest(rule, means, condenser_id) {
  const says = make("p", { class: "tested", role: "status" });
  const list = make("ul", { class: "runs" });
  const root = make("section", { class: "backtest" }, make("h2", {}, say("backtest.title")), says, list);
  setText(says, say("backtest.wants"));
  let tried = "";

  /** Whether the limits in the form have been tried, or cannot be. @param {HTMLFormElement} form */
  const isTried = (form) => tried !== "" && tried === JSON.stringify(limitsIn(form));

  /** Limits that cannot be are refused here already, at their field. @param {HTMLFormElement} form */
  async function test(form) {
    const limits = limitsIn(form);
    setText(says, say("backtest.working"));
    list.replaceChildren();
    try {
      show(/** @type {AlarmBacktest} */ (await send("POST", `alarms/rules/${encodeURIComponent(rule.rule)}/backtest`, {}, { ...limits, condenser_id }, undefined, PATIENCE_MS)));
    } catch (error) {
      setText(says, error instanceof Refusal ? say("backtest.wants") : say("backtest.failed"));
      if (error instanceof Refusal) throw error;
    }
    tried = JSON.stringify(limits);
    root.dispatchEvent(new CustomEvent("tried"));
  }

  /** @param {AlarmBacktest} found */
  function show(found) {
    setText(says, tested(found));
    list.replaceChildren(...found.runs.map(runItem));
  }

  /** @param {BacktestRun} run */
  function runItem(run) {
    const { zone } = means.ground();
    const from_ms = Date.parse(run.began_at);
    const times = run.as_tried.slice(0, MOST_TIMES).map((at) => saidTime(Date.parse(at), from_ms, zone));
    const name = [run.batch, run.vessel, say(`stage.${run.stage}`), `${day(from_ms, zone)} ${timeOfDay(from_ms, zone)}`].filter(Boolean).join(" · ");
    const count = run.as_tried.length;
    const text = count === 0 ? say("backtest.quiet") : say(count === 1 ? "backtest.once" : count > times.length ? "backtest.many" : "backtest.times", { count, times: times.join(", ") });
    return make("li", {}, make("p", { class: "about" }, name), strip(run), make("p", {}, text));
  }

  /** As they stand in the form, in the unit they are kept in; what is no number is the service's to refuse. @param {HTMLFormElement} form */
  function limitsIn(form) {
    const { unit } = means.ground();
    return Object.fromEntries(NAMES.map((name) => {
      const input = form.elements.namedItem(name);
      const text = input instanceof HTMLInputElement ? input.value.trim() : "";
      const typed = readTyped(text);
      if (typed.kind !== "number") return [name, text === "" ? null : text];
      const apart = name === "deadband";
      return [name, name === "limit" || apart ? fromShown(typed.shown, rule.unit, unit, apart) : typed.shown];
    }));
  }

  return { root, test, isTried };
}

/** The run's length as a strip, with a mark where it would have sounded, and below it where it does. @param {BacktestRun} run */
function strip(run) {
  const picture = makeSvg("svg", { class: "strip", viewBox: "0 0 1000 26", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(makeSvg("path", { class: "base", d: "M0 13 H1000" }));
  for (const x of positions(run.as_tried, run)) picture.append(makeSvg("path", { class: "would", d: `M${x} 1 V13` }));
  for (const x of positions(run.as_set, run)) picture.append(makeSvg("path", { class: "did", d: `M${x} 13 V25` }));
  return picture;
}
