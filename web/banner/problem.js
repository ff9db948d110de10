// Why something asked of the alarms was not done, in one sentence.

import { Refusal } from "../shared/api.js";
import { say } from "../texts.js";

/** @param {unknown} error */
export function problemText(error) {
  if (error instanceof Refusal) return error.message;
  console.info("the service did not take it", error);
  return say("alarm.silent");
}
