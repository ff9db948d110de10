// What an answer shows: its sentence, its band, its numbers, its cautions, where it comes from.

import { apiUrl } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { parts, say } from "../texts.js";
import { boldParts, mainOf, pairsOf, rowsOf } from "./says.js";
import { rangeText } from "./field.js";
import { scaleOf } from "./values.js";
import { weave } from "./weave.js";

/** @param {HTMLElement} root @param {HTMLElement} slip the answer in short, for when it has been scrolled away */
export function mountSays(root, slip) {
  const says = make("p", { class: "says", id: "says", "aria-live": "polite" });
  const rests = make("p", { class: "rests" });
  const mind = make("a", { class: "mind", href: "#cautions" });
  root.append(says, rests, mind);
  mind.addEventListener("click", (event) => {
    event.preventDefault(); // the address belongs to the answer
    document.querySelector("#cautions")?.scrollIntoView({ block: "start" });
  });
  slip.addEventListener("click", () => root.scrollIntoView({ block: "center" }));
  let told = false;
  let seen = true;
  const place = () => {
    slip.hidden = !told || seen;
  };
  new IntersectionObserver(([entry]) => {
    seen = !entry || entry.isIntersecting || entry.boundingClientRect.top > 0;
    place();
  }).observe(says);

  return {
    /** @param {Declaration} declaration @param {Answer} answer */
    answer(declaration, answer) {
      says.replaceChildren(...weave(boldParts(answer.sentence, declaration, answer)));
      says.classList.remove("unsure");
      rests.replaceChildren(...weave(bandParts(declaration, answer)));
      const main = mainOf(declaration, answer);
      told = main !== null;
      slip.replaceChildren(...(main ? [make("span", {}, main.label), make("strong", {}, main.text)] : []));
      place();
    },
    /** Something calm instead of an answer. @param {string} sentence */
    instead(sentence) {
      says.replaceChildren(sentence);
      says.classList.add("unsure");
      rests.replaceChildren();
      told = false;
      place();
    },
    /** @param {number} cautions */
    mind(cautions) {
      mind.hidden = cautions === 0;
      mind.replaceChildren(say(cautions === 1 ? "cautions.below.one" : "cautions.below", { count: cautions }));
    },
  };
}

/** @param {Declaration} declaration @param {Answer} answer */
function bandParts({ gives }, { words, why, sentence }) {
  const pairs = pairsOf(gives);
  const [first] = pairs;
  if (why) return parts("says.cannot");
  if (!first) return [];
  if (pairs.length > 1) return parts("says.bands");
  const [low, high] = [words[first[0]] ?? "", words[first[1]] ?? ""];
  if (sentence.includes(low) && sentence.includes(high)) return parts("says.within");
  return parts("says.band", { low, high });
}

/** @param {HTMLElement} root @param {Declaration} declaration @param {Answer | null} answer */
export function showRows(root, declaration, answer) {
  root.hidden = !answer;
  if (!answer) return;
  const lines = rowsOf(declaration, answer).map(({ label, text, told }) => make("div", { class: told ? null : "untold" }, make("dt", {}, label), make("dd", {}, text)));
  root.replaceChildren(make("h2", {}, say("rows.answer")), make("dl", {}, ...lines));
}

/** @param {HTMLElement} root @param {readonly string[]} cautions */
export function showCautions(root, cautions) {
  root.hidden = cautions.length === 0;
  root.replaceChildren(make("h2", {}, say("cautions.title")), make("ul", {}, ...cautions.map((text) => make("li", {}, text))));
}

/** @param {HTMLElement} root @param {Declaration} declaration @param {Units} units */
export function showSource(root, declaration, units) {
  const open = root.querySelector("details")?.open ?? false;
  const address = apiUrl(`calculations/${declaration.name}`);
  const details = make("details", {}, make("summary", {}, say("source.title")),
    ...block(say("source.model"), declaration.notes), ...block(say("source.source"), declaration.source),
    make("h3", {}, say("source.ranges")), make("ul", {}, ...declaration.takes.map((item) => make("li", {}, rangeLine(item, declaration, units)))),
    ...block(say("source.name"), say("source.nametext", { name: declaration.name, address })));
  details.open = open;
  root.replaceChildren(details);
}

/** @param {Taken} item @param {Declaration} declaration @param {Units} units */
function rangeLine(item, { us_units }, units) {
  const range = item.choices.length > 0 ? item.choices.join(", ") : rangeText(item, us_units, units);
  const { unit } = scaleOf(item.unit, us_units, units);
  return `${item.label}${unit ? `, ${unit}` : ""}: ${range}`;
}

/** @param {string} title @param {string} text */
function block(title, text) {
  return text ? [make("h3", {}, title), make("p", {}, text)] : [];
}
