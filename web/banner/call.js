// The alarm that takes the top of the page, and the press that says it has been seen.

import { Refusal } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { make, setText } from "../shared/dom.js";
import { problemText } from "./problem.js";
import { say } from "../texts.js";
import { isOver } from "./order.js";
import { shapeOf } from "./shape.js";
import { hearing } from "./sound.js";
import { numberParts, whereOf } from "./tell.js";

/** @param {{acknowledge: (key: string, note: string) => Promise<void>}} means */
export function makeCall({ acknowledge }) {
  const sign = make("span", { class: "sign" });
  const [priority, name, where, number, since] = [make("span", { class: "priority" }), make("strong", { class: "name" }), make("span", { class: "where" }), make("span", { class: "number" }), make("span", { class: "since" })];
  const what = make("p", { class: "what" }, sign, priority, name, where);
  const line = make("p", { class: "reading" }, number, since);
  const action = make("p", { class: "action" });
  const seen = make("button", { type: "button", class: "main seen" }, say("alarm.acknowledge"));
  const withNote = make("button", { type: "button", class: "quiet", "aria-expanded": "false" }, say("alarm.note"));
  const note = make("input", { id: "alarm-note", autocomplete: "off", "aria-describedby": "alarm-note-trouble" });
  const noteTrouble = make("p", { class: "trouble", id: "alarm-note-trouble", role: "alert" });
  const noting = make("div", { class: "noting", hidden: true }, make("label", { for: "alarm-note" }, say("alarm.note.label")), note, noteTrouble);
  const all = make("a", { class: "quiet", href: new URL("../alarms.html", import.meta.url).href });
  const trouble = make("p", { class: "trouble", role: "alert" });
  const silent = make("p", { class: "silent" });
  const root = make("div", { class: "call" }, what, line, action, noting, make("div", { class: "presses" }, seen, withNote, all), silent, trouble);
  /** @type {Alarm | null} */
  let top = null;
  /** What was typed of each alarm and not yet sent, by its key. @type {Map<string, string>} */
  const typed = new Map();

  withNote.addEventListener("click", () => {
    noting.hidden = !noting.hidden;
    withNote.setAttribute("aria-expanded", String(!noting.hidden));
    if (!noting.hidden) note.focus();
  });
  note.addEventListener("keydown", ({ key }) => key === "Enter" && seen.click());
  seen.addEventListener("click", async () => {
    if (!top) return;
    const { key } = top;
    const text = note.value;
    complain(null);
    seen.disabled = true;
    try {
      await acknowledge(key, text.trim());
      if (top?.key === key) fillNote("");
      else if (typed.get(key) === text) typed.delete(key);
    } catch (error) {
      if (top?.key === key) complain(error);
      else setText(trouble, problemText(error));
    } finally {
      seen.disabled = false;
    }
  });

  /** What is refused of the note stands at the note, which stays as it was typed. @param {unknown} error null takes it back */
  function complain(error) {
    const ofNote = error instanceof Refusal && error.field === "note";
    setText(trouble, error === null || ofNote ? "" : problemText(error));
    setText(noteTrouble, ofNote ? problemText(error) : "");
    if (ofNote) note.setAttribute("aria-invalid", "true");
    else note.removeAttribute("aria-invalid");
    if (ofNote) note.focus();
  }

  /** An alarm's own note, open where something was typed. @param {string} text */
  function fillNote(text) {
    note.value = text;
    noting.hidden = text === "";
    withNote.setAttribute("aria-expanded", String(text !== ""));
  }

  /** Another alarm takes the top: the note stays with its own, and keys typed on go to neither. */
  function lay(/** @type {Alarm | null} */ alarm) {
    if (top && note.value.trim()) typed.set(top.key, note.value);
    else if (top) typed.delete(top.key);
    note.blur();
    complain(null);
    fillNote(alarm ? (typed.get(alarm.key) ?? "") : "");
  }

  /** @param {Alarm | null} alarm @param {number} others @param {import("./tell.js").Ground} ground */
  function show(alarm, others, ground) {
    root.hidden = alarm === null;
    if (top?.key !== alarm?.key) lay(alarm);
    if (alarm === null) return void (top = null);
    if (top?.priority !== alarm.priority) sign.replaceChildren(shapeOf(alarm.priority));
    top = alarm;
    const time = saidTime(Date.parse(alarm.since ?? ""), ground.now_ms, ground.zone);
    setText(priority, say(`alarm.priority.${alarm.priority}`));
    setText(name, alarm.name);
    setText(where, whereOf(alarm));
    fill(number, numberParts(alarm, ground));
    setText(since, say(isOver(alarm) ? "alarm.over" : "alarm.since", { time }));
    setText(action, alarm.first_action);
    action.hidden = isOver(alarm);
    setText(all, say(others === 0 ? "alarm.all" : others === 1 ? "alarm.more.one" : "alarm.more", { count: others }));
    fillSilent();
  }

  /** Says where it cannot be heard; the bell in the header is the press for it. */
  function fillSilent() {
    const how = hearing();
    silent.hidden = how === "on";
    setText(silent, how === "on" ? "" : say(`alarm.sound.${how}`));
  }

  return { root, show };
}

/** @param {Element} element @param {readonly import("../texts.js").Part[]} said */
function fill(element, said) {
  if (element.textContent === said.map(({ text }) => text).join("")) return;
  element.replaceChildren(...said.map(({ text, strong }) => (strong ? make("strong", {}, text) : text)));
}
