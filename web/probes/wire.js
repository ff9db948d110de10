// The wire: every probe as a knot on one copper line, its place, its number, how it does.

import { keepList, make, setText } from "../shared/dom.js";
import { temperature, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { makeDrawer } from "./drawer.js";
import { isThermometer, mainReading, nameOf, readsWell } from "./tell.js";

/** @typedef {import("./probes.js").Hands} Hands */

/** @param {import("./probes.js").Means} means */
export function makeWire(means) {
  const list = make("ul", { class: "wire", "aria-label": say("probes.wire") });
  const retired = make("ul", { class: "wire", "aria-label": say("probes.retired") });
  const away = make("details", { class: "away", hidden: true }, make("summary", {}, ""), retired);
  const root = make("div", {}, list, away);
  /** @type {Map<string, ReturnType<typeof makeKnot>>} */
  const knots = new Map();

  /** @param {HTMLElement} parent @param {ProbeRecord[]} probes @param {Hands} hands */
  function fill(parent, probes, hands) {
    keepList(parent, probes, ({ id }) => id, ({ id }) => {
      const knot = makeKnot(id, means);
      knots.set(id, knot);
      return knot.root;
    }, (_, probe) => knots.get(probe.id)?.show(probe, hands));
  }

  return {
    root,
    /** @param {Hands} hands */
    show(hands) {
      const inUse = hands.probes.filter((probe) => !probe.retired).sort(byPlace(hands));
      const gone = hands.probes.filter((probe) => probe.retired);
      fill(list, inUse, hands);
      fill(retired, gone, hands);
      list.hidden = inUse.length === 0;
      away.hidden = gone.length === 0;
      setText(away.firstElementChild ?? away, say("probes.retired.count", { count: gone.length }));
    },
    /** @param {Hands} hands */
    values(hands) {
      for (const knot of knots.values()) knot.value(hands);
    },
  };
}

/** Without a place first: they want a hand. Then as the live page has them. @param {Hands} hands */
function byPlace({ live }) {
  const order = [...live.keys()];
  /** @param {ProbeRecord} probe */
  const rank = (probe) => (!mainReading(probe)?.place_id && isThermometer(probe) ? -1 : order.indexOf(probe.id) + 1 || order.length + 1);
  return (/** @type {ProbeRecord} */ a, /** @type {ProbeRecord} */ b) => rank(a) - rank(b);
}

/** @param {string} id @param {import("./probes.js").Means} means */
function makeKnot(id, means) {
  const [name, about, state] = ["name", "about", "state"].map((kind) => make("span", { class: kind }));
  const value = make("span", { class: "value" });
  const head = make("button", { type: "button", class: "knot", "aria-expanded": "false" }, ...[name, value, about, state].map((each) => each ?? ""));
  const warned = make("ul", { class: "warned" });
  const drawer = make("div", { class: "drawer", hidden: true });
  const root = make("li", {}, head, warned, drawer);
  /** @type {{fresh: () => void} | null} */
  let inside = null;

  head.addEventListener("click", () => {
    const opened = drawer.hidden;
    drawer.hidden = !opened;
    head.setAttribute("aria-expanded", String(opened));
    inside = opened ? makeDrawer(id, means, drawer) : null;
    if (!opened) drawer.replaceChildren();
  });

  /** @param {Hands} hands */
  function show({ live, ground, probes }) {
    const one = live.get(id);
    const probe = probes.find((each) => each.id === id);
    const isTemperature = !probe || isThermometer(probe);
    const text = one?.value === null || one === undefined ? "–.–" : isTemperature ? temperature(one.value, ground.unit) : one.value.toFixed(1);
    setText(value, text);
    value.dataset.unit = isTemperature ? unitSign(ground.unit) : (probe && mainReading(probe)?.unit) ?? "";
  }

  return {
    root,
    value: show,
    /** @param {ProbeRecord} probe @param {Hands} hands */
    show(probe, hands) {
      const reading = mainReading(probe);
      const placed = Boolean(reading?.place_id) || !isThermometer(probe);
      root.className = probe.retired ? "retired" : readsWell(probe) ? (placed ? "good" : "loose") : "silent";
      if (name) setText(name, nameOf(probe));
      if (about) setText(about, placed && probe.name ? say("probes.about", { name: probe.name, id }) : placed ? (nameOf(probe) === id ? "" : id) : say("probes.noplace", { id }));
      if (state) setText(state, probe.retired ? say("probes.state.retired") : (reading?.says ?? ""));
      warned.replaceChildren(...probe.warnings.map((text) => make("li", {}, text)));
      show(hands);
      inside?.fresh();
    },
  };
}
