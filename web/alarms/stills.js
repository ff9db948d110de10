// What somebody beside a hot still can show the watch: that they are there, that the water runs,
// that the spout runs cloudy, that a mash is being cooked in it.

import { send } from "../shared/api.js";
import { keepList, make, setText } from "../shared/dom.js";
import { deedFor } from "../shared/entry.js";
import { say } from "../texts.js";
import { span } from "./spans.js";

/** @param {import("./standing.js").Means} means */
export function makeStills(means) {
  const list = make("ul", { class: "lines" });
  const answer = make("p", { class: "hint", role: "status" });
  const here = deedFor(say("stills.here"), async () => {
    const { says } = /** @type {{counted: boolean, says: string}} */ (await send("POST", "alarms/at-the-still", {}, { source: "tap" }));
    setText(answer, says);
  });
  const root = make("section", { class: "caller stills", hidden: true }, make("h2", {}, say("stills.title")), list, make("div", { class: "deeds" }, here), answer);

  /** @param {AlarmStage} stage */
  function makeItem({ vessel_id }) {
    const report = (/** @type {"water-runs" | "cloudy-spout" | "mash-cooked"} */ what) => deedFor(say(`stills.${what}`), async () => means.take(/** @type {AlarmsNow} */ (await send("POST", `alarms/${what}`, {}, { vessel_id }))));
    return make("li", {}, make("div", {}), make("span", { class: "deeds" }, report("water-runs"), report("cloudy-spout"), report("mash-cooked")));
  }

  /** @param {readonly AlarmStage[]} stages */
  function show(stages) {
    const hot = stages.filter(({ at_the_still_min }) => at_the_still_min !== null);
    root.hidden = hot.length === 0;
    keepList(list, hot, ({ vessel_id }) => vessel_id, makeItem, fillItem);
  }

  /** @param {Element} item @param {AlarmStage} stage */
  function fillItem(item, stage) {
    const [text, presses] = item.children;
    setText(/** @type {Element} */ (text), textOf(stage));
    const cooks = presses?.lastElementChild;
    if (cooks instanceof HTMLElement) cooks.hidden = stage.mash_cooked !== false;
  }

  return { root, show };
}

/** @param {AlarmStage} stage */
function textOf({ vessel, water_proven, at_the_still_min, mash_cooked }) {
  const water = water_proven === null ? "" : say(water_proven ? "stills.proven" : "stills.unproven");
  const cooks = mash_cooked ? say("stills.cooked") : "";
  return [say("stills.hot", { vessel, age: span((at_the_still_min ?? 0) * 60) }), water, cooks].filter(Boolean).join(" ");
}
