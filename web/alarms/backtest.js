// When a rule would have sounded in past runs of its stages with the limits as they stand in the
// form, worked out by the service through the same evaluation; shown before anything is saved.

import { send } from "../shared/api.js";
import { day, saidTime, timeOfDay } from "../shared/clock.js";
import { make, makeSvg, setText } from "../shared/dom.js";
import { problemText } from "../shared/entry.js";
import { readTyped } from "../bench/values.js";
import { say } from "../texts.js";
import { fromShown } from "./turned.js";
import { positions, tested } from "./tested.js";

const PAUSE_MS = 600;
const PATIENCE_MS = 120_000; // many hours of readings are judged anew
const MOST_TIMES = 6;
const NAMES = /** @type {const} */ (["limit", "deadband", "on_delay_s", "off_delay_s"]);

/** @param {AlarmRule} rule @param {import("./standing.js").Means} means */
export function makeBacktest(rule, means) {
  const says = make("p", { class: "tested", role: "status" });
  const list = make("ul", { class: "runs" });
  const root = make("section", { class: "backtest" }, make("h2", {}, say("backtest.title")), says, list);
  let timer = 0;
  let asked = 0;
  let before = "";

  /** @param {HTMLFormElement} form */
  function test(form) {
    const limits = limitsIn(form);
    const wanted = JSON.stringify(limits);
    if (wanted === before) return;
    before = wanted;
    clearTimeout(timer);
    if (!limits) return setText(says, say("backtest.wants"));
    setText(says, say("backtest.working"));
    timer = window.setTimeout(() => void ask(limits), PAUSE_MS);
  }

  /** @param {Record<string, number>} limits */
  async function ask(limits) {
    const mine = (asked += 1);
    try {
      const found = /** @type {AlarmBacktest} */ (await send("POST", `alarms/rules/${encodeURIComponent(rule.rule)}/backtest`, {}, limits, undefined, PATIENCE_MS));
      if (mine === asked) show(found);
    } catch (error) {
      if (mine !== asked) return;
      list.replaceChildren();
      setText(says, problemText(error));
    }
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

  /** @param {HTMLFormElement} form @returns {Record<string, number> | null} null where something is no number */
  function limitsIn(form) {
    /** @type {Record<string, number>} */
    const limits = {};
    for (const name of NAMES) {
      const input = form.elements.namedItem(name);
      const typed = readTyped(input instanceof HTMLInputElement ? input.value : "");
      if (typed.kind !== "number") return null;
      limits[name] = name === "limit" || name === "deadband" ? fromShown(typed.shown, rule.unit, means.ground().unit, name === "deadband") : typed.shown;
    }
    return limits;
  }

  return { root, test };
}

/** The run's length as a strip, with a mark where it would have sounded, and below it where it does. @param {BacktestRun} run */
function strip(run) {
  const picture = makeSvg("svg", { class: "strip", viewBox: "0 0 1000 26", preserveAspectRatio: "none", "aria-hidden": "true" });
  picture.append(makeSvg("path", { class: "base", d: "M0 13 H1000" }));
  for (const x of positions(run.as_tried, run)) picture.append(makeSvg("path", { class: "would", d: `M${x} 1 V13` }));
  for (const x of positions(run.as_set, run)) picture.append(makeSvg("path", { class: "did", d: `M${x} 13 V25` }));
  return picture;
}
