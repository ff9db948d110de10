// What stands between the panels on the same axis: jars by class, alarms, heat, notes.

import { timeOfDay } from "../shared/clock.js";
import { make, setAttributes } from "../shared/dom.js";
import { LETTERS, piecesOf } from "../record/run.js";
import { say } from "../texts.js";

const LETTER_PX = 7;
const LEAST_PX = 2;
const LEAST_JAR_PX = 26;

/** @typedef {import("./panels.js").Strip} Strip */
/** @typedef {{from: number, to: number, words: readonly string[], title: string, kind: string, cut?: string}} Piece */

/** The strips that have something on them. @param {RunReview} review @param {string} zone @returns {Strip[]} */
export function stripsOf(review, zone) {
  const time = timeIn(zone);
  const strips = [lane("jars", jarPieces(review, time)), lane("alarms", spellPieces(review, time)), lane("heat", heatPieces(review, time)), lane("notes", roomed(notePieces(review, time), review.run.to_ms))];
  return strips.filter((each) => each !== null);
}

/** What was called and noted, for the hand: alarms while they stood, heat and notes when they came. @param {RunReview} review @param {string} zone */
export function toldOf(review, zone) {
  const time = timeIn(zone);
  const told = (/** @type {Piece} */ { from, to, title }) => ({ from, to, text: title });
  return [spellPieces(review, time).map(told), heatPieces(review, time).map((piece) => told({ ...piece, to: piece.from })), notePieces(review, time).map(told)];
}

/** @param {string} zone */
function timeIn(zone) {
  return (/** @type {number} */ ms) => timeOfDay(ms, zone);
}

/** @param {RunReview} review @param {(ms: number) => string} time @returns {Piece[]} */
function heatPieces({ power_changes, run }, time) {
  return power_changes.map(({ at, power_kw, text }, index) => {
    const power = power_kw === null ? "" : say("lane.kw", { power: String(Number(power_kw.toFixed(2))) });
    return { from: Date.parse(at), to: Date.parse(power_changes[index + 1]?.at ?? run.ended_at ?? "") || run.to_ms, words: [[power, text].filter(Boolean).join(" "), power], title: [time(Date.parse(at)), power, text].filter(Boolean).join(" "), kind: "heat" };
  });
}

/** @param {RunReview} review @param {(ms: number) => string} time @returns {Piece[]} */
function spellPieces({ alarms, run }, time) {
  return alarms.map(({ came_at, went_at, name, where, priority }) => {
    const [from, to] = [Date.parse(came_at), went_at ? Date.parse(went_at) : run.to_ms];
    return { from, to, words: [name], title: say("lane.spell", { name, where, from: time(from), to: went_at ? time(to) : say("lane.still") }), kind: `alarm ${priority}` };
  });
}

/** @param {RunReview} review @param {(ms: number) => string} time @returns {Piece[]} */
function notePieces({ notes }, time) {
  return notes.map(({ at, text, kind }) => {
    const said = text || say(`mark.short.${kind}`);
    return { from: Date.parse(at), to: Date.parse(at), words: [said, `${said.slice(0, 14)}…`], title: say("lane.note", { time: time(Date.parse(at)), text: said }), kind: "note" };
  });
}

/** A note's words may run on to the next note. @param {readonly Piece[]} notes @param {number} end @returns {Piece[]} */
function roomed(notes, end) {
  return notes.map((note, index) => ({ ...note, to: notes[index + 1]?.from ?? end }));
}

/** @param {RunReview} review @param {(ms: number) => string} time @returns {Piece[]} */
function jarPieces({ run, marks, jars }, time) {
  const pieces = piecesOf({ ...run, batch: run.batch, marks, jars }, run.to_ms).filter(({ jar, cut }) => jar || cut); // what is not cut has no classes to show
  return pieces.map(({ from_ms, to_ms, cut, jar }) => {
    const letter = cut ? LETTERS[cut] : "";
    const name = say(`cut.${cut ?? "none"}`);
    const title = jar ? say("lane.jar", { number: jar.number, cut: name, from: time(from_ms), to: time(to_ms) }) : name;
    return { from: from_ms, to: to_ms, words: jar ? [`${letter} ${jar.number}`.trim(), letter] : [`${letter} ${name}`, letter], title, kind: "jar", cut: cut ?? "none" };
  });
}

/** @param {string} key @param {readonly Piece[]} pieces @returns {Strip | null} */
function lane(key, pieces) {
  if (pieces.length === 0) return null;
  const name = say(`lane.${key}`);
  const held = make("div", { class: "pieces", role: "img", "aria-label": say("lane.count", { name, count: pieces.length }) });
  const root = make("div", { class: `lane ${key}` }, make("p", { class: "called" }, name), held);
  return { root, draw: (from, to, width) => {
    const there = pieces.filter((piece) => piece.to >= from && piece.from <= to);
    const narrow = key === "jars" && there.some((piece) => widthOf(piece, from, to, width) < LEAST_JAR_PX);
    held.replaceChildren(...there.map((piece) => drawPiece(narrow ? { ...piece, words: [] } : piece, from, to, width)), ...(narrow ? classes(there).map((group) => drawPiece(group, from, to, width)) : []));
  } };
}

/** Where jars are too narrow for their numbers, each class is named once. @param {readonly Piece[]} jars @returns {Piece[]} */
function classes(jars) {
  /** @type {Piece[]} */
  const found = [];
  for (const jar of jars) {
    const last = found.at(-1);
    if (last && last.cut === jar.cut) found[found.length - 1] = { ...last, to: jar.to };
    else found.push({ ...jar, words: [say(`cut.${jar.cut ?? "none"}`), jar.words.at(-1) ?? ""], kind: "class" });
  }
  return found.map(({ cut: _, ...group }) => group);
}

/** @param {Piece} piece @param {number} from @param {number} to @param {number} width */
function widthOf(piece, from, to, width) {
  return ((Math.min(to, piece.to) - Math.max(from, piece.from)) / (to - from)) * width;
}

/** @param {Piece} piece @param {number} from @param {number} to @param {number} width */
function drawPiece(piece, from, to, width) {
  const x = (/** @type {number} */ at) => ((Math.min(to, Math.max(from, at)) - from) / (to - from)) * width;
  const size = Math.max(LEAST_PX, x(piece.to) - x(piece.from));
  const words = piece.words.find((text) => text !== "" && text.length * LETTER_PX + 8 <= size) ?? "";
  const element = make("div", { class: `piece ${piece.kind}`, title: piece.title }, ...(words ? [make("span", {}, words)] : []));
  if (piece.cut) setAttributes(element, { "data-cut": piece.cut });
  element.style.left = `${x(piece.from)}px`;
  element.style.width = `${size}px`;
  return element;
}
