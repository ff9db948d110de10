// Finding a calculation: one line to ask in, and beneath it the questions by subject.

import { ask, make, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { bySubject, search } from "./search.js";

const WIDE = matchMedia("(min-width: 720px)"); // narrower, a subject opens at a press

/**
 * Sends the verb `open` with a name.
 * @param {HTMLElement} root
 */
export function mountAsk(root) {
  const input = make("input", {
    type: "search", id: "ask-words", autocomplete: "off", spellcheck: "false", enterkeyhint: "search",
    placeholder: say("ask.hint"), "aria-label": say("ask.label"), "aria-describedby": "ask-count",
  });
  const title = make("h1", {}, say("ask.label"));
  const all = make("a", { class: "quiet all", href: "#" }, say("ask.all"));
  const count = make("p", { id: "ask-count", class: "count", role: "status" });
  const list = make("nav", { class: "questions", "aria-label": say("ask.all") });
  root.append(make("div", { class: "line" }, title, input, all), count, list);
  /** @type {{all: readonly CalculationSummary[], lately: readonly string[], open: boolean}} */
  let known = { all: [], lately: [], open: false };

  const paint = () => {
    const query = input.value.trim();
    const { found, whole } = search(known.all, query);
    const nothing = query !== "" && found.length === 0;
    list.hidden = known.open && query === "";
    root.classList.toggle("searching", query !== "");
    input.placeholder = say(known.open ? "ask.other" : "ask.hint");
    setText(count, query === "" ? "" : nothing ? say("ask.none") : !whole ? say("ask.some") : found.length === 1 ? say("ask.count.one") : say("ask.count", { count: found.length }));
    const late = known.lately.map((name) => known.all.find((one) => one.name === name)).filter((one) => one !== undefined);
    const groups = bySubject(nothing ? known.all : found);
    if (query === "" && late.length > 0) groups.unshift({ subject: say("ask.lately"), members: late });
    list.replaceChildren(...(query === "" || nothing ? groups.map(group) : [flat(found)]));
    ask(root, "searching", query !== "");
  };
  const links = () => [...list.querySelectorAll("a")].filter((link) => link.checkVisibility());
  WIDE.addEventListener("change", paint);
  input.addEventListener("input", paint);
  root.addEventListener("keydown", (event) => {
    const at = links().findIndex((link) => link === document.activeElement);
    const inside = event.target === input || at >= 0;
    if (!inside || list.hidden) return;
    const step = event.key === "ArrowDown" ? 1 : event.key === "ArrowUp" ? -1 : 0;
    if (step !== 0) {
      event.preventDefault();
      (links()[at + step] ?? (step < 0 ? input : links()[at]))?.focus();
    } else if (event.key === "Enter" && event.target === input && input.value.trim() !== "") {
      event.preventDefault();
      links()[0]?.click();
    }
  });
  root.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || input.value === "") return;
    event.preventDefault();
    input.value = "";
    paint();
    input.focus();
  });
  list.addEventListener("click", (event) => {
    if (!(event.target instanceof Element) || !event.target.closest("a")) return;
    input.value = "";
    queueMicrotask(paint); // after the address has changed, also where it stays the same
  });

  return {
    input,
    /** @param {typeof known} now */
    show(now) {
      known = now;
      all.hidden = !now.open;
      title.hidden = now.open; // the sheet has its own
      paint();
    },
    clear() {
      input.value = "";
    },
  };
}

/** @param {{subject: string, members: CalculationSummary[]}} group */
function group({ subject, members }) {
  const count = make("span", { class: "many" }, String(members.length));
  const open = WIDE.matches || subject === say("ask.lately");
  return make("details", { open }, make("summary", {}, make("h2", {}, subject), count), lines(members, false));
}

/** @param {readonly CalculationSummary[]} members */
function flat(members) {
  return lines(members, true);
}

/** @param {readonly CalculationSummary[]} members @param {boolean} subjects */
function lines(members, subjects) {
  const items = members.map(({ name, question, subject }) => {
    const link = make("a", { href: `#${name}`, "data-name": name }, question);
    return make("li", {}, link, ...(subjects ? [make("span", { class: "subject" }, subject)] : []));
  });
  return make("ul", {}, ...items);
}
