// One vessel (or the room) on the page: what holds it, its places and condensers, and their forms.

import { send } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make, setText } from "../shared/dom.js";
import { deedFor, pressFor } from "../shared/entry.js";
import { say } from "../texts.js";
import { addUsual, condenserForm, endOccupancy, occupancyForm, placeForm, usual, vesselForm } from "./forms.js";
import { aboutVessel, heldText, holding, lotsIn } from "./tell.js";

const PAST = 6;

/** @param {string | null} id of the vessel; null: the room @param {import("./vessels.js").Means} means */
export function makeShelf(id, means) {
  const [name, about, state] = [make("span", { class: "name" }), make("span", { class: "about" }), make("span", { class: "state" })];
  const value = make("span", { class: "value" });
  const head = make("button", { type: "button", class: "knot", "aria-expanded": "false" }, name, value, about, state);
  const drawer = make("div", { class: "drawer", hidden: true });
  const root = make("li", {}, head, drawer);
  const sections = id === null ? ["places"] : ["batch", "places", "condensers", "vessel"];
  const parts = new Map(sections.map((key) => [key, { kept: make("div", {}), form: make("div", { class: "doing" }) }]));

  head.addEventListener("click", () => toggle(head.getAttribute("aria-expanded") === "false"));

  /** @param {boolean} opened */
  function toggle(opened) {
    drawer.hidden = !opened;
    head.setAttribute("aria-expanded", String(opened));
    if (opened) fill();
  }

  const vessel = () => means.yard().vessels.find((one) => one.id === id);

  /** @param {string} key @param {(ways: import("./forms.js").Ways) => HTMLElement} makeForm */
  function put(key, makeForm) {
    for (const { form } of parts.values()) form.replaceChildren();
    const close = () => parts.get(key)?.form.replaceChildren();
    const done = async () => {
      close();
      await means.refresh();
    };
    const form = makeForm({ zone: means.yard().ground.zone, close, done, again: () => void means.refresh() });
    parts.get(key)?.form.replaceChildren(form);
    const first = form.querySelector("input, select");
    if (first instanceof HTMLElement) first.focus();
  }

  /** @param {string} path @param {{id: string, version: number}} one */
  const remove = (path, { id: of, version }) => deedFor(say("entry.remove"), async () => {
    await send("DELETE", `${path}/${of}`, { version });
    await means.refresh();
  }, "quiet");

  function fill() {
    if (drawer.childElementCount === 0) for (const [key, { kept, form }] of parts) drawer.append(make("section", {}, make("h2", {}, say(`shelf.${key}`)), kept, form));
    const yard = means.yard();
    const of = vessel();
    parts.get("places")?.kept.replaceChildren(...places(yard, of));
    if (!of) return;
    parts.get("batch")?.kept.replaceChildren(...batches(yard, of));
    parts.get("condensers")?.kept.replaceChildren(...condensers(yard, of));
    const condensing = parts.get("condensers")?.kept.parentElement;
    if (condensing) condensing.hidden = of.kind !== "still";
    parts.get("vessel")?.kept.replaceChildren(...said(of), make("div", { class: "deeds" }, pressFor(say("shelf.correct"), () => put("vessel", (ways) => vesselForm(() => vessel() ?? of, ways))), remove("vessels", of)));
  }

  /** @param {import("./vessels.js").Yard} yard @param {VesselRecord} of */
  function batches({ occupancies, ground }, of) {
    const now_ms = Date.now();
    const own = occupancies.filter((one) => one.vessel_id === of.id).sort((a, b) => Date.parse(b.started_at) - Date.parse(a.started_at));
    const now = holding(own, of.id, now_ms);
    /** @param {string} at */
    const saidAt = (at) => saidTime(Date.parse(at), now_ms, ground.zone);
    const items = own.slice(0, PAST).map((one) => {
      const current = () => means.yard().occupancies.find((each) => each.id === one.id) ?? one;
      const text = say(one.ended_at ? "occupancy.was" : "occupancy.is", { batch: one.batch, stage: say(`stage.${one.stage}`), from: saidAt(one.started_at), to: one.ended_at ? saidAt(one.ended_at) : "" });
      const deeds = make("span", { class: "deeds" },
        ...(one === now ? [deedFor(say("occupancy.end"), async () => {
          await endOccupancy(current());
          await means.refresh();
        })] : []),
        pressFor(say("shelf.correct"), () => put("batch", (ways) => occupancyForm(of, current, ways)), "quiet"),
        remove("occupancies", one));
      return make("li", {}, make("span", {}, text), deeds);
    });
    const add = pressFor(say("occupancy.add"), () => put("batch", (ways) => occupancyForm(of, null, ways)), now ? undefined : "main");
    return [items.length ? make("ul", { class: "lines" }, ...items) : make("p", { class: "hint" }, say("occupancy.none")), add];
  }

  /** @param {import("./vessels.js").Yard} yard @param {VesselRecord | undefined} of */
  function places(yard, of) {
    const own = yard.places.filter(({ vessel_id }) => vessel_id === id);
    const items = own.map((place) => {
      const probe = yard.probes.find(({ readings }) => readings.some(({ place_id }) => place_id === place.id));
      const current = () => means.yard().places.find((each) => each.id === place.id) ?? place;
      const where = [probe ? (probe.name ?? probe.id) : say("place.noprobe"), place.head_probe ? say(`place.head.${place.head_probe === "before_reflux" ? "before" : "after"}`) : "", yard.condensers.find((one) => one.id === place.condenser_id)?.name ?? ""].filter(Boolean).join(" · ");
      return make("li", {}, make("span", {}, make("strong", {}, place.name.replaceAll("_", " ")), " ", make("small", {}, where)), make("span", { class: "deeds" },
        ...(probe ? [] : [make("a", { class: "quiet", href: "probes.html#warm" }, say("place.give"))]),
        pressFor(say("shelf.correct"), () => put("places", (ways) => placeForm(of ?? null, current, yard.known, condensersOf(yard), ways)), "quiet"),
        ...(probe ? [] : [remove("places", place)])));
    });
    const missing = of ? usual(of, yard.known, yard.places) : [];
    const all = missing.length === 0 ? [] : [deedFor(say("place.usual", { names: missing.map((one) => one.replaceAll("_", " ")).join(", ") }), async () => {
      if (of) await addUsual(of, yard.known, yard.places);
      await means.refresh();
    }, own.length ? undefined : "main")];
    return [items.length ? make("ul", { class: "lines" }, ...items) : make("p", { class: "hint" }, say(of ? "place.none" : "place.none.room")),
      make("div", { class: "deeds" }, ...all, pressFor(say("place.addone"), () => put("places", (ways) => placeForm(of ?? null, null, yard.known, condensersOf(yard), ways))))];
  }

  /** @param {import("./vessels.js").Yard} yard */
  const condensersOf = ({ condensers: all }) => all.filter(({ vessel_id }) => vessel_id === id);

  /** @param {import("./vessels.js").Yard} yard @param {VesselRecord} of */
  function condensers(yard, of) {
    const items = condensersOf(yard).map((one) => {
      const current = () => means.yard().condensers.find((each) => each.id === one.id) ?? one;
      const facts = [say(`condenser.kind.${one.kind}`), one.flow_l_min === null ? "" : `${one.flow_l_min} L/min`, one.duty_kw === null ? "" : `${one.duty_kw} kW`].filter(Boolean).join(" · ");
      return make("li", {}, make("span", {}, make("strong", {}, one.name), " ", make("small", {}, facts)), make("span", { class: "deeds" }, pressFor(say("shelf.correct"), () => put("condensers", (ways) => condenserForm(of, current, ways)), "quiet"), remove("condensers", one)));
    });
    return [items.length ? make("ul", { class: "lines" }, ...items) : make("p", { class: "hint" }, say("condenser.none")), pressFor(say("condenser.add"), () => put("condensers", (ways) => condenserForm(of, null, ways)))];
  }

  return {
    root,
    open: () => {
      toggle(true);
      drawer.scrollIntoView({ block: "nearest" });
      head.focus();
    },
    show() {
      const { places: all, occupancies, lots, ground } = means.yard();
      const of = vessel();
      const now_ms = Date.now();
      const now = of && holding(occupancies, of.id, now_ms);
      const inside = of ? lotsIn(lots, of.id) : [];
      root.className = now || inside.length > 0 || !of ? "good" : "free";
      setText(name, of ? of.name : say("shelf.room"));
      setText(value, of?.volume_l ? of.volume_l.toLocaleString("en-GB") : "");
      if (of?.volume_l) value.dataset.unit = "L";
      setText(about, of ? aboutVessel(of) : say("shelf.room.about", { count: all.filter(({ vessel_id }) => vessel_id === null).length }));
      setText(state, of ? heldText(now, inside, (at) => saidTime(Date.parse(at), now_ms, ground.zone)) : "");
      if (!drawer.hidden) fill();
    },
  };
}

/** What is said of a vessel beyond its head. @param {VesselRecord} vessel */
function said({ insulation, heat_loss_w_per_k, element_cover_l }) {
  const lines = [
    element_cover_l === null ? "" : say("vessel.said.cover", { litres: element_cover_l }),
    insulation ? say("vessel.said.insulation", { text: insulation }) : "",
    heat_loss_w_per_k === null ? "" : say("vessel.said.loss", { loss: heat_loss_w_per_k }),
  ].filter(Boolean);
  return lines.length ? [make("p", { class: "hint" }, lines.join(" "))] : [];
}
