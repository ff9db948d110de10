// What nobody may expect of this watch, as the service says it, each still's heat included; it
// stands wherever alarms are seen and set up.

import { get } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { say } from "../texts.js";

const RETRY_MS = 3000;

export function cautions() {
  const root = make("ul", { class: "cautions", "aria-label": say("alarms.cautions"), hidden: true });

  async function fill() {
    try {
      /** @type {AlarmCaution[]} */
      const found = await get("alarms/cautions");
      root.replaceChildren(...found.map(({ says }) => make("li", {}, says)));
      root.hidden = found.length === 0;
    } catch (error) {
      console.info("the cautions are not there yet", error);
      setTimeout(() => void fill(), RETRY_MS);
    }
  }

  void fill();
  return root;
}
