// Assigning by warming: hold a probe in the hand, and the one that rises is offered.

import { get } from "../shared/api.js";
import { keepList, make, setText } from "../shared/dom.js";
import { makeEntry, pressFor, problemText } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { slope, temperature, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { moveProbe, placeChoices } from "./drawer.js";
import { isThermometer, mainReading, nameOf } from "./tell.js";

const POLL_MS = 1000;
const SHOWN = 4;

/** @typedef {{probe_id: string, rise_c: number, to_c: number, place_id: string | null}} Candidate */
/** @typedef {{offered: string | null, says: string, candidates: Candidate[], how: string}} Warming */

/** @param {import("./probes.js").Means} means @returns {import("./probes.js").Task} */
export function warmTask(means) {
  const title = make("h1", { class: "says", "aria-live": "polite" });
  const rests = make("p", { class: "rests" });
  const caution = make("ul", { class: "cautions" }, make("li", {}, say("warm.caution")));
  const form = make("div", { class: "offer" });
  const list = make("ul", { class: "risers", "aria-label": say("warm.list") });
  const all = make("input", { type: "checkbox", id: "warm-all" });
  const how = make("p", { class: "hint" });
  const trouble = make("p", { class: "trouble", role: "alert" });
  const root = make("div", { class: "warm" }, title, rests, form, trouble, list, make("label", { class: "tick", for: "warm-all" }, all, make("span", {}, say("warm.all"))), caution, how);
  const loose = means.hands().probes.filter((probe) => !probe.retired && isThermometer(probe) && !mainReading(probe)?.place_id);
  all.checked = loose.length === 0;
  all.addEventListener("change", () => void look());
  /** @type {string | null} the probe the form stands for */
  let offered = null;
  /** @type {Set<string>} offered and refused */
  const refused = new Set();
  let alive = true;
  let placed = false;
  let timer = 0;

  async function look() {
    clearTimeout(timer);
    try {
      const found = /** @type {Warming} */ (await get("warming", { unplaced_only: String(!all.checked), temperature_unit: means.hands().ground.unit }));
      if (!alive || placed) return;
      setText(trouble, "");
      show(found);
    } catch (error) {
      setText(trouble, problemText(error));
    }
    if (alive && !placed) timer = window.setTimeout(() => void look(), POLL_MS);
  }

  /** @param {Warming} found */
  function show(found) {
    const { unit } = means.hands().ground;
    setText(how, found.how);
    keepList(list, found.candidates.slice(0, SHOWN), ({ probe_id }) => probe_id, () => make("li", {}, make("span", { class: "name" }), make("strong", { class: "value" }), make("span", { class: "rise" })), (item, one) => {
      const [name, value, rise] = item.children;
      item.className = one.probe_id === found.offered ? "offered" : "";
      if (name) setText(name, titleOf(one.probe_id));
      if (value) setText(value, temperature(one.to_c, unit));
      if (rise) setText(rise, `${slope(one.rise_c, unit)} ${unitSign(unit)}`);
    });
    const stands = found.offered !== null && !refused.has(found.offered) ? found.offered : offered;
    if (stands === null) {
      title.replaceChildren(...woven(parts("warm.says.start")));
      setText(rests, found.candidates.some(({ rise_c }) => rise_c > 0.5) ? found.says : say("warm.rests"));
      return;
    }
    const candidate = found.candidates.find(({ probe_id }) => probe_id === stands);
    if (candidate && found.offered === stands) {
      title.replaceChildren(...woven(parts("warm.says.rises", { probe: titleOf(stands), rise: slope(candidate.rise_c, unit), unit: unitSign(unit) })));
      setText(rests, say("warm.rests.offer"));
    }
    if (stands !== offered) offer(stands);
  }

  /** @param {string} id */
  function titleOf(id) {
    const probe = means.hands().probes.find((one) => one.id === id);
    return probe ? nameOf(probe) : id;
  }

  /** @param {string} id */
  function offer(id) {
    offered = id;
    const { places, ground } = means.hands();
    if (places.length === 0) return form.replaceChildren(make("p", { class: "first" }, say("warm.noplaces"), " ", make("a", { href: "vessels.html" }, say("probes.to.vessels"))));
    form.replaceChildren(
      makeEntry({
        key: "warm",
        zone: ground.zone,
        fields: [{ name: "place_id", label: say("warm.where"), kind: "choice", choices: placeChoices(means) }],
        submit: say("warm.submit"),
        act: async ({ place_id }) => {
          await moveProbe(id, String(place_id), null);
          await means.refresh();
          finish(id);
        },
      }),
      pressFor(say("warm.other"), () => {
        refused.add(id);
        offered = null;
        form.replaceChildren();
        void look();
      }, "quiet"),
    );
  }

  /** @param {string} id */
  function finish(id) {
    placed = true;
    clearTimeout(timer);
    const again = make("a", { class: "press main", href: `#warm/${Date.now()}` }, say("warm.next"));
    root.replaceChildren(
      make("h1", { class: "says", tabindex: -1 }, ...woven(parts("warm.done", { probe: id, place: titleOf(id) }))),
      make("div", { class: "presses" }, again, make("a", { class: "quiet", href: "#" }, say("probes.back"))),
    );
    root.querySelector("h1")?.focus();
  }

  title.append(...woven(parts("warm.says.start")));
  setText(rests, say("warm.rests"));
  void look();
  return {
    root,
    fresh: () => {},
    end: () => {
      alive = false;
      clearTimeout(timer);
    },
  };
}
