// A stretch of time as one would say it. Pure.

import { say } from "../texts.js";

/** "40 s", "15 min", "1 h 30 min", "2 d" @param {number} seconds */
export function span(seconds) {
  if (seconds < 90) return say("age.seconds", { count: Math.round(seconds) });
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return say("age.minutes", { count: minutes });
  if (minutes >= 48 * 60) return say("age.days", { count: Math.round(minutes / 1440) });
  const rest = minutes % 60;
  const hours = say("age.hours", { count: Math.floor(minutes / 60) });
  return rest === 0 ? hours : `${hours} ${say("age.minutes", { count: rest })}`;
}
