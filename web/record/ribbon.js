// On the sheet: marks as fine lines with their names, and under it the stages and jars on the
// same axis of time.

import { timeOfDay, timeToSecond } from "../shared/clock.js";
import { ask, keepList, make, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { CUT_MARKS, labelled, LETTERS, piecesOf } from "./run.js";

const ROWS = 3;
const LEAST_PX = 2;
const LETTER_PX = 7;

/** @typedef {{from_ms: number, to_ms: number}} View */

/** @param {HTMLElement} sheet */
export function mountRibbon(sheet) {
  const lines = make("div", { class: "markings" });
  const ribbon = make("div", { class: "ribbon", role: "group", "aria-label": say("ribbon.runs") });
  sheet.querySelector(".plot .hand")?.before(lines);
  sheet.querySelector(".axis")?.before(ribbon);
  return (/** @type {readonly RunRecord[]} */ runs, /** @type {View} */ view, /** @type {number} */ now_ms, /** @type {string} */ zone) => {
    sheet.classList.toggle("with-ribbon", runs.length > 0);
    const width = lines.clientWidth;
    if (width === 0) return;
    const x = (/** @type {number} */ ms) => ((ms - view.from_ms) / (view.to_ms - view.from_ms)) * width;
    showMarks(lines, runs.flatMap(({ marks }) => marks), x, width, zone);
    showPieces(ribbon, runs.flatMap((run) => piecesOf(run, now_ms)), x, width, zone);
  };
}

/** What stands on the sheet beside a mark's line. @param {MarkRecord} mark */
export function shortText({ kind, power_kw, text }) {
  if (kind === "power" && power_kw !== null) return say("mark.short.powerto", { power: power_kw });
  if ((kind === "note" || kind === "other") && text) return text.length > 18 ? `${text.slice(0, 17)}…` : text;
  return say(`mark.short.${kind}`);
}

/** @param {HTMLElement} root @param {readonly MarkRecord[]} marks @param {(ms: number) => number} x @param {number} width @param {string} zone */
function showMarks(root, marks, x, width, zone) {
  const there = marks.map((mark) => ({ mark, kind: mark.kind, x: x(Date.parse(mark.at)), text: shortText(mark) })).filter((one) => one.x >= 0 && one.x <= width);
  keepList(root, labelled(there, width, ROWS), ({ mark }) => mark.id, ({ mark }) => makeLine(mark.id), (element, { mark, x: at, text, row, left }) => {
    if (!(element instanceof HTMLElement)) return;
    element.style.left = `${at}px`;
    const button = /** @type {HTMLElement} */ (element.firstElementChild);
    button.hidden = row === null;
    button.style.left = `${left - at}px`;
    setAttributes(element, { "data-kind": CUT_MARKS.includes(mark.kind) ? "cut" : "aside", "data-waiting": mark.waiting ?? null, "data-row": row });
    const placed = say("mark.placed", { mark: say(`mark.${mark.kind}`), time: timeToSecond(Date.parse(mark.at), zone) });
    setAttributes(button, { "aria-label": placed.toLowerCase().includes(text.toLowerCase()) ? placed : `${text}, ${placed}` }); // the words seen are in the name
    setText(button, text);
  });
}

/** @param {string} id */
function makeLine(id) {
  const button = make("button", { type: "button" });
  button.addEventListener("click", () => ask(button, "mark", { id }));
  return make("div", { class: "marking" }, button);
}

/** @param {HTMLElement} root @param {readonly import("./run.js").Piece[]} pieces @param {(ms: number) => number} x @param {number} width @param {string} zone */
function showPieces(root, pieces, x, width, zone) {
  const there = pieces.map((piece) => ({ piece, from: Math.max(0, x(piece.from_ms)), to: Math.min(width, x(piece.to_ms)) })).filter(({ from, to }) => to > 0 && from < width && to - from >= 0);
  keepList(root, there, ({ piece }) => piece.key, ({ piece }) => makePiece(piece), (element, { piece, from, to }) => {
    if (!(element instanceof HTMLElement)) return;
    const size = Math.max(LEAST_PX, to - from);
    element.style.left = `${from}px`;
    element.style.width = `${size}px`;
    setAttributes(element, { "data-cut": piece.heating ? "heating" : (piece.cut ?? "none"), "data-open": piece.open, title: titleOf(piece, zone), "aria-label": [wordsOf(piece, size), titleOf(piece, zone)].filter(Boolean).join(", ") });
    setText(element.firstElementChild ?? element, wordsOf(piece, size));
  });
}

/** @param {import("./run.js").Piece} piece */
function makePiece({ jar }) {
  const element = make(jar ? "button" : "div", { class: "piece", type: jar ? "button" : null, role: jar ? null : "img" }, make("span"));
  if (jar) element.addEventListener("click", () => ask(element, "jar", { id: jar.id }));
  return element;
}

/** As much as there is room for. @param {import("./run.js").Piece} piece @param {number} pixels */
function wordsOf({ cut, jar, heating, open }, pixels) {
  const letter = cut ? LETTERS[cut] : "";
  const choices = heating
    ? [say("ribbon.heating")]
    : jar
      ? [...(open ? [say("jar.now", { letter, number: jar.number })] : []), `${letter} ${jar.number}`.trim(), letter || String(jar.number)]
      : [cut ? `${letter} ${say(`cut.${cut}`)}` : say("ribbon.running"), letter];
  return choices.find((text) => text.length * LETTER_PX + 8 <= pixels) ?? "";
}

/** @param {import("./run.js").Piece} piece @param {string} zone */
function titleOf({ cut, jar, heating, open, from_ms, to_ms }, zone) {
  if (heating) return say("ribbon.heating");
  if (!jar) return say(cut ? `cut.${cut}` : "ribbon.running");
  const name = say(`cut.${cut ?? "none"}`);
  const words = { number: jar.number, class: name, from: timeOfDay(from_ms, zone), to: timeOfDay(to_ms, zone) };
  return say(open ? "jar.piece.now" : "jar.piece", words);
}
