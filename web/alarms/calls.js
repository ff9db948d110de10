// Who is called when an alarm comes: this browser, targets elsewhere, the sounder at the still,
// and whoever notices that this machine has died.

import { get, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { deedFor, makeEntry, pressFor, problemText } from "../shared/entry.js";
import { say } from "../texts.js";
import { browserPart } from "./browser.js";
import { cautions } from "./cautions.js";
import { targetForm, targetItem } from "./targets.js";

/** @param {import("./standing.js").Means} means */
export function callsPart(means) {
  const browser = make("section", { class: "caller" }, make("h2", {}, say("calls.browser")), browserPart());
  const targets = section("targets");
  const still = section("still");
  const life = section("life");
  const trouble = make("p", { class: "trouble", role: "alert" });
  const root = make("section", { class: "callers" }, make("h1", { class: "says" }, say("calls.says")), make("p", { class: "rests" }, say("calls.rests")), trouble, browser, targets.root, still.root, life.root, cautions());

  async function load() {
    try {
      const [all, reach] = await Promise.all([/** @type {Promise<NoticeTarget[]>} */ (get("alarms/targets")), /** @type {Promise<AlarmReach>} */ (get("alarms/reach"))]);
      setText(trouble, "");
      showTargets(all);
      showStill(reach);
      showLife(reach);
    } catch (error) {
      setText(trouble, problemText(error));
    }
  }

  /** @param {NoticeTarget[]} all */
  function showTargets(all) {
    const { kept, doing } = targets;
    const put = (/** @type {HTMLElement | null} */ form) => fillForm(doing, form);
    const done = async () => {
      put(null);
      await load();
    };
    const items = all.map((one) => targetItem(one, means.ground(), { put, done }));
    kept.replaceChildren(
      all.length ? make("ul", { class: "lines" }, ...items) : make("p", { class: "hint" }, say("calls.targets.none")),
      pressFor(say("calls.targets.add"), () => put(targetForm(null, means.ground().zone, { put, done })), all.length ? undefined : "main"),
    );
  }

  /** @param {AlarmReach} reach */
  function showStill({ sounder }) {
    const trial = make("p", { class: "hint", role: "status" });
    still.kept.replaceChildren(make("p", { class: sounder.problem ? "trouble" : "hint" }, sounder.problem || say("calls.still.how")), trial, deedFor(say("calls.still.try"), async () => {
      const { problem } = /** @type {AlarmReach["sounder"]} */ (await send("POST", "alarms/sounder/test"));
      setText(trial, problem || say("calls.still.tried"));
    }));
  }

  /** @param {AlarmReach} reach */
  function showLife(reach) {
    const { kept, doing } = life;
    const { heartbeat_address, heartbeat_every_s, heartbeat } = reach;
    const text = heartbeat_address ? say("calls.life.beats", { address: heartbeat_address, every: heartbeat_every_s, count: heartbeat.beats }) : say("calls.life.none");
    kept.replaceChildren(
      make("p", { class: "hint" }, text),
      ...(heartbeat.problem ? [make("p", { class: "trouble" }, heartbeat.problem)] : []),
      make("p", { class: "hint" }, reach.link_address ? say("calls.life.link", { address: reach.link_address }) : say("calls.life.nolink")),
      pressFor(say("calls.life.change"), () => fillForm(doing, lifeForm(reach)), heartbeat_address ? undefined : "main"),
    );
  }

  /** @param {AlarmReach} reach */
  function lifeForm({ heartbeat_address, heartbeat_every_s, link_address, version }) {
    return makeEntry({
      key: "life",
      zone: means.ground().zone,
      fields: [
        { name: "heartbeat_address", label: say("calls.life.address"), value: heartbeat_address, blank: true, hint: say("calls.life.address.hint") },
        { name: "heartbeat_every_s", label: say("calls.life.every"), kind: "number", unit: "s", value: heartbeat_every_s, hint: say("calls.life.every.hint") },
        { name: "link_address", label: say("calls.life.linkaddress"), value: link_address, blank: true, hint: say("calls.life.linkaddress.hint") },
      ],
      submit: say("entry.save"),
      cancel: () => fillForm(life.doing, null),
      again: () => void load(),
      act: async (values) => {
        await send("PUT", "alarms/reach", {}, { ...values, version });
        fillForm(life.doing, null);
        await load();
      },
    });
  }

  void load();
  return { root, fresh: () => void load() };
}

/** @param {string} key */
function section(key) {
  const [kept, doing] = [make("div", {}), make("div", { class: "doing" })];
  return { kept, doing, root: make("section", { class: "caller" }, make("h2", {}, say(`calls.${key}`)), kept, doing) };
}

/** @param {HTMLElement} doing @param {HTMLElement | null} form */
function fillForm(doing, form) {
  doing.replaceChildren(...(form ? [form] : []));
  const first = form?.querySelector("input, select");
  if (first instanceof HTMLElement) first.focus();
}
