// The sentence of the alarms page: what calls, what is known, what is hidden. Pure.

import { calls, isKnown, ordered } from "../banner/order.js";
import { whereOf } from "../banner/tell.js";
import { parts, say } from "../texts.js";

/** @param {AlarmsNow} body */
export function tellAlarms({ now, aside, stages }) {
  const calling = ordered(now).filter(calls);
  const seen = now.filter(isKnown);
  return { says: saying(calling, seen), rests: [hiddenText(aside), ...stages.filter(({ stage }) => stage !== null).map(stageText)].filter(Boolean).join(" ") };
}

/** @param {readonly Alarm[]} calling @param {readonly Alarm[]} seen */
function saying(calling, seen) {
  const [first] = calling;
  const known = seen.length === 0 ? "" : say(seen.length === 1 ? "alarms.says.seen.one" : "alarms.says.seen", { count: seen.length });
  if (!first) return parts(known ? "alarms.says.known" : "alarms.says.none", { known });
  const where = whereOf(first); // the house itself has no place
  const words = { name: first.name, where: where && `, ${where}`, count: calling.length, known };
  return parts(calling.length === 1 ? "alarms.says.one" : "alarms.says.many", words);
}

/** @param {readonly Alarm[]} aside */
function hiddenText(aside) {
  const count = aside.length;
  if (count === 0) return "";
  return say(count === 1 ? "alarms.rests.hidden.one" : "alarms.rests.hidden", { count });
}

/** @param {AlarmStage} stage */
function stageText({ vessel, stage, source, phase }) {
  const doing = [stage === null ? "" : say(`stage.${stage}`), phase && phase !== "idle" ? say(`alarms.phase.${phase}`) : ""].filter(Boolean).join(", ");
  return say(source === "guessed" ? "alarms.rests.guessed" : "alarms.rests.stage", { vessel, doing });
}
