// What nobody may expect of this watch; it stands wherever alarms are seen and set up.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";

const WHAT = ["watch", "hardware", "flame", "codes"];

export function cautions() {
  return make("ul", { class: "cautions", "aria-label": say("alarms.cautions") }, ...WHAT.map((key) => make("li", {}, say(`alarms.caution.${key}`))));
}
