// Two probes taken for each other: put right from then on, or from a time that is past.

import { send } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { makeEntry } from "../shared/entry.js";
import { temperature, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { woven } from "../shared/page.js";
import { isThermometer, mainReading, nameOf } from "./tell.js";

/** @param {import("./probes.js").Means} means @param {string} first the place it was asked for @returns {import("./probes.js").Task} */
export function swapTask(means, first) {
  const { ground, live, probes } = means.hands();
  const title = make("h1", { class: "says" }, ...woven(parts("swap.says")));
  const rests = make("p", { class: "rests" }, say("swap.rests"));
  const root = make("div", {}, title, rests);
  const placed = probes.filter((probe) => isThermometer(probe) && mainReading(probe)?.place_id);
  if (placed.length < 2) {
    root.append(make("p", { class: "first" }, say("swap.few"), " ", make("a", { href: "#warm" }, say("probes.press.warm"))));
    return { root, fresh: () => {} };
  }
  const choices = placed.map((probe) => {
    const value = live.get(probe.id)?.value;
    const shown = value === null || value === undefined ? "–" : `${temperature(value, ground.unit)} ${unitSign(ground.unit)}`;
    return /** @type {[string, string]} */ ([mainReading(probe)?.place_id ?? "", say("swap.choice", { place: nameOf(probe), value: shown })]);
  });
  const one = choices.find(([id]) => id === first)?.[0] ?? choices[0]?.[0] ?? "";
  const other = choices.find(([id]) => id !== one)?.[0] ?? "";
  root.append(makeEntry({
    key: "swap",
    zone: ground.zone,
    fields: [
      { name: "place_a", label: say("swap.one"), kind: "choice", choices, value: one },
      { name: "place_b", label: say("swap.other"), kind: "choice", choices, value: other },
      { name: "from_at", label: say("swap.from"), kind: "time", optional: true, hint: say("swap.fromhint") },
    ],
    submit: say("swap.submit"),
    cancel: means.leave,
    act: async (values) => {
      await send("POST", "placements/swap", {}, values);
      await means.refresh();
      root.replaceChildren(
        make("h1", { class: "says", tabindex: -1 }, ...woven(parts("swap.done", { one: nameAt(means, values.place_a), other: nameAt(means, values.place_b) }))),
        make("p", { class: "rests" }, say("swap.undo")),
        make("a", { class: "press main", href: "#" }, say("probes.back")),
      );
      root.querySelector("h1")?.focus();
    },
  }));
  return { root, fresh: () => {} };
}

/** @param {import("./probes.js").Means} means @param {unknown} place_id */
function nameAt(means, place_id) {
  const found = means.hands().probes.find((probe) => mainReading(probe)?.place_id === place_id);
  return found ? nameOf(found) : "";
}
