// How long one cycle of the heat's control lasts; slopes are judged over more than two of them.

import { get, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { makeEntry, problemText } from "../shared/entry.js";
import { say } from "../texts.js";

/** @typedef {{seconds: number, version: number}} Cycle */

/** @param {string} zone @param {() => Promise<void>} changed what shows the delays is read anew */
export function cyclePart(zone, changed) {
  const trouble = make("p", { class: "trouble", role: "alert" });
  const room = make("div", {});
  const root = make("section", { class: "cycle" }, make("h2", {}, say("cycle.title")), make("p", { class: "hint" }, say("cycle.lead")), trouble, room);

  async function load() {
    try {
      room.replaceChildren(formOf(/** @type {Cycle} */ (await get("alarms/control-cycle"))));
      setText(trouble, "");
    } catch (error) {
      setText(trouble, problemText(error));
    }
  }

  /** @param {Cycle} kept */
  function formOf({ seconds, version }) {
    return makeEntry({
      key: "cycle",
      zone,
      fields: [{ name: "seconds", label: say("cycle.seconds"), kind: "number", unit: "s", value: seconds, hint: say("cycle.seconds.hint") }],
      submit: say("entry.save"),
      plain: true,
      again: () => void load(),
      act: async (values) => {
        await send("PUT", "alarms/control-cycle", {}, { ...values, version });
        await changed();
      },
    });
  }

  void load();
  return root;
}
