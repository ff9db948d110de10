// One target of notices: how it does, its trial, its form.

import { send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make, setText } from "../shared/dom.js";
import { deedFor, makeEntry, pressFor } from "../shared/entry.js";
import { say } from "../texts.js";

/** @typedef {{put: (form: HTMLElement | null) => void, done: () => Promise<void>}} Ways */

/** @param {NoticeTarget} target @param {import("../shared/page.js").Ground} ground @param {Ways} ways */
export function targetItem(target, { zone }, ways) {
  const tried = make("p", { class: "hint", role: "status" });
  const trial = deedFor(say("calls.targets.try"), async () => {
    setText(tried, say("calls.targets.trying"));
    const { says } = /** @type {{sent: boolean, says: string}} */ (await send("POST", `alarms/targets/${target.id}/test`));
    setText(tried, says);
  });
  const take = deedFor(say("entry.remove"), async () => {
    await send("DELETE", `alarms/targets/${target.id}`, { version: target.version });
    await ways.done();
  }, "quiet");
  const change = pressFor(say("calls.targets.change"), () => ways.put(targetForm(target, zone, ways)), "quiet");
  const about = make("p", {}, make("strong", {}, target.name), " ", make("small", {}, stateOf(target, zone)));
  return make("li", {}, make("div", {}, about, ...(target.problem ? [make("p", { class: "trouble" }, target.problem)] : []), tried), make("span", { class: "deeds" }, trial, change, take));
}

/** @param {NoticeTarget} target @param {string} zone */
function stateOf({ address_kind, least_priority, after_min, last_sent_at, waiting }, zone) {
  return [
    say("calls.targets.kind", { kind: address_kind }),
    after_min > 0 ? say("calls.targets.after.said", { minutes: after_min }) : say(`calls.targets.least.${least_priority}`),
    last_sent_at ? say("calls.targets.sent", { time: saidTime(Date.parse(last_sent_at), Date.now(), zone) }) : "",
    waiting > 0 ? say("calls.targets.waiting", { count: waiting }) : "",
  ].filter(Boolean).join(" · ");
}

/** @param {NoticeTarget | null} old @param {string} zone @param {Ways} ways */
export function targetForm(old, zone, { put, done }) {
  return makeEntry({
    key: "target",
    zone,
    fields: [
      { name: "name", label: say("calls.targets.name"), value: old?.name ?? "", hint: say("calls.targets.name.hint") },
      { name: "address", label: say("calls.targets.address"), optional: old !== null, hint: say(old ? "calls.targets.address.kept" : "calls.targets.address.hint") },
      { name: "least_priority", label: say("calls.targets.least"), kind: "choice", value: old?.least_priority ?? "medium", choices: (/** @type {const} */ (["high", "medium", "low"])).map((one) => [one, say(`calls.targets.least.${one}`)]) },
      { name: "after_min", label: say("calls.targets.after"), kind: "number", unit: "min", value: old?.after_min ?? 0, more: true, hint: say("calls.targets.after.hint") },
    ],
    submit: say(old ? "entry.save" : "calls.targets.add"),
    cancel: () => put(null),
    again: () => void done(),
    act: async ({ address, ...values }) => {
      if (old) await send("PUT", `alarms/targets/${old.id}`, {}, { ...values, ...(address ? { address } : {}), version: old.version });
      else await send("POST", "alarms/targets", {}, { address: address ?? "", ...values });
      await done();
    },
  });
}
