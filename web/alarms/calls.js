// Who is called when an alarm comes: this browser, targets elsewhere, the sounder at the still,
// and whoever notices that this machine has died.

import { make, setText } from "../shared/dom.js";
import { browserPart } from "./browser.js";
import { cautions } from "./cautions.js";
import { say } from "../texts.js";

export function callsPart() {
  const says = make("h1", { class: "says" });
  setText(says, say("alarms.part.calls"));
  return { root: make("section", {}, says, browserPart(), cautions()) };
}
