// Calibrating: hold probes at a temperature that is known, wait until the service judges them
// steady, keep the point, and apply the line through the points.

import { readTyped } from "../bench/values.js";
import { get, send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { keepList, make, setText } from "../shared/dom.js";
import { deedFor, makeEntry, pressFor, problemText } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { degrees, degreesApart, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { isThermometer, mainReading, nameOf, refusalText } from "./tell.js";

const JUDGE_MS = 1500;

/** @typedef {"ice" | "steam" | "bath"} Kind */
/** @typedef {{kind: Kind, title: string, how: string[], cautions: string[], source: string}} Way */
/** @typedef {{probe_id: string, slope: number, offset: number, residual_c: number | null, says: string, effects: {says: string}[]}} Proposal */
/** @typedef {{probe_id: string, acceptable: boolean, says: string, measured_c: number | null, error_c: number | null, refused: string | null}} Judged */
/** @typedef {{reference_c: number, reference: string, acceptable: boolean, probes: Judged[]}} Judgement */
/** @typedef {{id: string, version: number, probe_id: string, kind: Kind, reference_c: number, measured_c: number, spread_c: number, pressure_hpa: number | null, at: string, used: boolean}} PointRecord */

/** @param {import("./probes.js").Means} means @param {string} about the probe it was asked for @returns {import("./probes.js").Task} */
export function calibrateTask(means, about) {
  const { ground, probes } = means.hands();
  const { zone, unit } = ground;
  const can = probes.filter((probe) => !probe.retired && isThermometer(probe));
  const chosen = new Set(can.some(({ id }) => id === about) ? [about] : can.length === 1 && can[0] ? [can[0].id] : []);
  /** @type {Kind} */
  let kind = "ice";
  /** @type {Way[]} */
  let ways = [];
  /** @type {PointRecord[]} */
  let points = [];
  let alive = true;
  let asking = 0;
  let timer = 0;

  const title = make("h1", { class: "says" });
  const rests = make("p", { class: "rests" }, say("cal.rests"));
  const picks = make("fieldset", { class: "picks" }, make("legend", {}, say("cal.which")));
  const kinds = make("fieldset", { class: "kinds" }, make("legend", {}, say("cal.at")));
  const how = make("ol", { class: "how" });
  const cautions = make("ul", { class: "cautions", "aria-label": say("cal.cautions") });
  const source = make("p", { class: "hint" });
  const given = make("div", { class: "entry" });
  const given_trouble = make("p", { class: "trouble", role: "alert" });
  const judged = make("ul", { class: "judged", "aria-label": say("cal.now") });
  const take = make("button", { type: "button", class: "main take", disabled: true }, say("cal.take"));
  const taken = make("p", { class: "trouble", role: "status" });
  const result = make("section", { class: "result", "aria-label": say("cal.result") });
  const doing = make("div", { class: "point" }, how, cautions, source, given, given_trouble, judged, take, taken);
  const root = make("div", { class: "calibrate" }, title, rests, picks, kinds, doing, result);

  const pressure = inputFor("pressure_hpa", say("cal.pressure"), "hPa", say("cal.pressure.hint"));
  const reference = inputFor("reference_c", say("cal.reference"), unitSign(unit), say("cal.reference.hint"));
  const trusted = make("select", { id: "cal-trusted" });

  for (const probe of can) {
    const input = make("input", { type: "checkbox", id: `pick-${probe.id}`, value: probe.id });
    input.checked = chosen.has(probe.id);
    input.addEventListener("change", () => {
      if (input.checked) chosen.add(probe.id);
      else chosen.delete(probe.id);
      void loadPoints();
      change();
    });
    const raw = mainReading(probe)?.calibration ? "" : say("cal.raw");
    picks.append(make("label", { for: input.id }, input, make("span", {}, nameOf(probe), " ", make("small", {}, mainReading(probe)?.place_id ? `${probe.id} ${raw}` : raw))));
  }
  if (can.length === 0) picks.append(make("p", { class: "first" }, say("probes.rests.none")));

  function drawKinds() {
    const made = ways.map((way) => {
      const input = make("input", { type: "radio", name: "kind", value: way.kind });
      input.checked = way.kind === kind;
      input.addEventListener("change", () => {
        kind = way.kind;
        change();
      });
      return make("label", {}, input, make("span", {}, way.title));
    });
    kinds.replaceChildren(make("legend", {}, say("cal.at")), make("div", { class: "choices" }, ...made));
  }

  /** Another probe or another point: show what it wants, and judge at once. */
  function change() {
    const way = ways.find((one) => one.kind === kind);
    doing.hidden = !way || chosen.size === 0;
    kinds.hidden = chosen.size === 0;
    how.replaceChildren(...(way?.how ?? []).map((line) => make("li", {}, line)));
    cautions.replaceChildren(...(way?.cautions ?? []).map((line) => make("li", {}, line)));
    setText(source, way?.source ?? "");
    given.replaceChildren(...(kind === "steam" ? [pressure.row, barometer] : kind === "bath" ? [reference.row, trustedRow()] : []));
    setText(given_trouble, "");
    setText(taken, "");
    judged.replaceChildren();
    take.disabled = true;
    setText(title, say(chosen.size === 0 ? "cal.says.choose" : `cal.says.${kind}`));
    void judge();
  }

  const barometer = make("div", {});
  void get("pressure").then((/** @type {Pressure} */ now) => {
    if (now.source !== "barometer") return;
    const hpa = now.pressure_hpa.toFixed(1);
    barometer.append(pressFor(say("cal.barometer", { pressure: hpa }), () => {
      pressure.input.value = hpa;
      void judge();
    }));
  }).catch((error) => console.info("the pressure does not load", error));

  function trustedRow() {
    const others = can.filter((probe) => !chosen.has(probe.id) && mainReading(probe)?.calibration);
    const before = trusted.value;
    trusted.replaceChildren(make("option", { value: "" }, say("cal.trusted.none")), ...others.map((probe) => make("option", { value: probe.id }, nameOf(probe))));
    if (others.some(({ id }) => id === before)) trusted.value = before;
    const row = make("div", { class: "row choice" }, make("label", { for: "cal-trusted" }, say("cal.trusted")), trusted);
    row.hidden = others.length === 0;
    return row;
  }
  trusted.addEventListener("change", () => void judge());
  for (const { input } of [pressure, reference]) input.addEventListener("input", () => void judge());

  function measurement() {
    const body = /** @type {Record<string, unknown>} */ ({ probe_ids: [...chosen], kind, temperature_unit: unit });
    if (kind === "steam") body.pressure_hpa = pressure.value();
    if (kind === "bath" && trusted.value) body.reference_probe_id = trusted.value;
    else if (kind === "bath") {
      const typed = reference.value();
      body.reference_c = typeof typed === "number" && unit === "F" ? (typed - 32) / 1.8 : typed;
    }
    return body;
  }

  async function judge() {
    clearTimeout(timer);
    const mine = (asking += 1);
    if (!alive || chosen.size === 0) return;
    const wanted = kind === "steam" ? pressure : kind === "bath" && !trusted.value ? reference : null;
    if (wanted && wanted.input.value.trim() === "") {
      setText(given_trouble, "");
      judged.replaceChildren(make("li", { class: "hint" }, say(`cal.wanted.${kind === "steam" ? "steam" : "bath"}`)));
      take.disabled = true;
      return;
    }
    if (wanted && wanted.unsure() !== "") {
      judged.replaceChildren();
      take.disabled = true;
      setText(given_trouble, wanted.unsure());
      wanted.input.setAttribute("aria-invalid", "true");
      return;
    }
    try {
      const found = /** @type {Judgement} */ (await send("POST", "calibrations/judge", {}, measurement()));
      if (mine !== asking) return;
      setText(given_trouble, "");
      showJudged(found);
    } catch (error) {
      if (mine !== asking) return;
      take.disabled = true;
      judged.replaceChildren();
      setText(given_trouble, refusalText(problemText(error), unit));
      wanted?.input.setAttribute("aria-invalid", "true");
    }
    if (alive) timer = window.setTimeout(() => void judge(), JUDGE_MS);
  }

  /** @param {Judgement} found */
  function showJudged({ probes: each, reference_c, reference: of, acceptable }) {
    for (const { input } of [pressure, reference]) input.removeAttribute("aria-invalid");
    if (judged.firstElementChild?.className === "hint") judged.replaceChildren();
    keepList(judged, each, ({ probe_id }) => probe_id, () => make("li", {}, make("strong", { class: "value" }), make("span", { class: "name" }), make("span", { class: "state" })), (item, one) => {
      item.className = one.acceptable ? "steady" : "moving";
      const [value, name, state] = item.children;
      const probe = can.find(({ id }) => id === one.probe_id);
      if (value) setText(value, one.measured_c === null ? "–.–" : `${degrees(one.measured_c, unit).toFixed(2)}`);
      if (name) setText(name, say("cal.should", { name: probe ? nameOf(probe) : one.probe_id, reference: `${degrees(reference_c, unit).toFixed(2)} ${unitSign(unit)}`, of }));
      if (state) setText(state, one.refused ?? one.says);
    });
    take.disabled = !acceptable;
  }

  take.addEventListener("click", async () => {
    take.disabled = true;
    setText(taken, "");
    result.replaceChildren(); // what follows from the points so far is not to be applied meanwhile
    try {
      await send("POST", "calibrations/points", {}, measurement());
      setText(taken, say(kind === "ice" ? "cal.taken.ice" : "cal.taken"));
      await loadPoints();
    } catch (error) {
      setText(taken, problemText(error));
      await showResult();
    }
    void judge();
  });

  async function loadPoints() {
    try {
      const all = /** @type {PointRecord[]} */ (await get("calibrations/points"));
      points = all.filter((point) => !point.used && chosen.has(point.probe_id));
      await showResult();
    } catch (error) {
      result.replaceChildren(make("p", { class: "trouble" }, problemText(error)));
    }
  }

  async function showResult() {
    if (points.length === 0) return result.replaceChildren();
    const list = make("ul", { class: "points" }, ...points.map((point) => make("li", {}, make("p", {}, pointText(point)), deedFor(say("cal.drop"), async () => {
      await send("DELETE", `calibrations/points/${point.id}`, { version: point.version });
      await loadPoints();
    }))));
    const head = [make("h2", {}, say("cal.points")), list];
    try {
      const found = /** @type {Proposal[]} */ (await send("POST", "calibrations/preview", {}, { point_ids: points.map(({ id }) => id), temperature_unit: unit }));
      result.replaceChildren(...head, make("h2", {}, say("cal.proposed")), ...found.map(proposalShown), applyForm());
    } catch (error) {
      result.replaceChildren(...head, make("p", { class: "trouble" }, problemText(error)));
    }
  }

  /** @param {PointRecord} point */
  function pointText({ probe_id, kind: of, measured_c, reference_c, spread_c, at, pressure_hpa }) {
    const probe = can.find(({ id }) => id === probe_id);
    const words = {
      name: probe ? nameOf(probe) : probe_id,
      measured: degrees(measured_c, unit).toFixed(2),
      reference: degrees(reference_c, unit).toFixed(2),
      unit: unitSign(unit),
      spread: degreesApart(spread_c, unit).toFixed(2),
      at: saidTime(Date.parse(at), Date.now(), zone),
      pressure: pressure_hpa === null ? "" : say("cal.atpressure", { pressure: pressure_hpa.toFixed(1) }),
    };
    return `${ways.find((way) => way.kind === of)?.title ?? of}: ${say("cal.point", words)}`;
  }

  /** @param {Proposal} proposal */
  function proposalShown({ probe_id, says, effects }) {
    const probe = can.find(({ id }) => id === probe_id);
    return make("div", { class: "proposal" }, make("p", { class: "verdict" }, ...woven(parts("cal.verdict", { name: probe ? nameOf(probe) : probe_id })), " ", says), ...effects.map((effect) => make("p", { class: "hint" }, effect.says)));
  }

  function applyForm() {
    return makeEntry({
      key: "apply",
      zone,
      fields: [{ name: "effective_at", label: say("cal.from"), kind: "time", optional: true, hint: say("cal.fromhint") }],
      submit: say("cal.apply"),
      act: async ({ effective_at }) => {
        await send("POST", "calibrations", {}, { point_ids: points.map(({ id }) => id), effective_at, temperature_unit: unit });
        const names = [...chosen].map((id) => can.find((probe) => probe.id === id)).flatMap((probe) => (probe ? [nameOf(probe)] : []));
        await means.refresh();
        end();
        root.replaceChildren(
          make("h1", { class: "says", tabindex: -1 }, ...woven(parts("cal.done", { names: names.join(", ") }))),
          make("p", { class: "rests" }, say("cal.undo")),
          make("a", { class: "press main", href: "#" }, say("probes.back")),
        );
        root.querySelector("h1")?.focus();
      },
    });
  }

  function end() {
    alive = false;
    clearTimeout(timer);
  }

  void get("calibrations/ways").then((/** @type {Way[]} */ found) => {
    ways = found;
    drawKinds();
    change();
    void loadPoints();
  }).catch((error) => setText(rests, problemText(error)));
  change();
  return { root, fresh: () => {}, end };
}

/** A number to give for the point. @param {string} name @param {string} label @param {string} unit @param {string} hint */
function inputFor(name, label, unit, hint) {
  const input = make("input", { id: `cal-${name}`, name, inputmode: "decimal", autocomplete: "off", "aria-describedby": `cal-${name}-hint` });
  const row = make("div", { class: "row number" }, make("label", { for: input.id }, label), make("span", { class: "given" }, input, make("span", { class: "unit" }, unit)), make("p", { class: "hint", id: `cal-${name}-hint` }, hint));
  return {
    input,
    row,
    unsure: () => (readTyped(input.value).kind === "comma" ? say("entry.comma", { text: input.value.trim() }) : ""),
    value: () => {
      const typed = readTyped(input.value);
      return typed.kind === "number" ? typed.shown : input.value.trim();
    },
  };
}
