// Which colour and which dash a line has, and the small sample of both. No two lines share both,
// and the places of a still keep theirs from page to page.

import { makeSvg, setAttributes } from "../shared/dom.js";

/** A colour of the tokens (--line-N) and a dash of DASHES. @typedef {{tone: number, dash: number}} Stroke */

/** Lengths of ink and gap in pixels; the first is unbroken. */
export const DASHES = ["", "16 4", "8 4", "2 4", "14 4 3 4", "5 3", "14 4 3 4 3 4", "1 6"];
export const TONES = 9;

/** @type {Record<string, Stroke>} */
const USUAL = {
  pot: { tone: 0, dash: 0 },
  head: { tone: 1, dash: 0 },
  column: { tone: 4, dash: 4 },
  coolant_in: { tone: 2, dash: 3 },
  coolant_out: { tone: 2, dash: 1 },
  spout: { tone: 3, dash: 2 },
  ferment: { tone: 5, dash: 6 },
  mash: { tone: 6, dash: 1 },
  room: { tone: 8, dash: 7 },
};
const OTHER_TONES = [7, 6, 5, 4, 3, 2, 1, 0];

/**
 * Give each line its stroke, in order; a usual place that comes a second time keeps its colour
 * and takes another dash.
 * @param {readonly {place?: string | null}[]} lines
 * @returns {Stroke[]}
 */
export function strokes(lines) {
  /** @type {Set<string>} */
  const taken = new Set();
  const free = (/** @type {Stroke} */ stroke) => !taken.has(`${stroke.tone}/${stroke.dash}`);
  let others = 0;
  const result = lines.map(({ place }) => {
    const usual = USUAL[place ?? ""];
    const wish = usual ?? { tone: OTHER_TONES[others % OTHER_TONES.length] ?? 0, dash: 1 + (others % (DASHES.length - 1)) };
    if (!usual) others += 1;
    const given = candidates(wish).find(free) ?? wish;
    taken.add(`${given.tone}/${given.dash}`);
    return given;
  });
  return result;
}

/** The wish, then its colour in every dash, then every other pair. @param {Stroke} wish */
function candidates(wish) {
  const dashes = DASHES.map((_, index) => (wish.dash + index) % DASHES.length);
  const tones = Array.from({ length: TONES }, (_, index) => (wish.tone + index) % TONES);
  return tones.flatMap((tone) => dashes.map((dash) => ({ tone, dash })));
}

/** A sample of a line. @param {number} [width] */
export function makeDash(width = 22) {
  const svg = makeSvg("svg", { class: "dash", width, height: 8, viewBox: `0 0 ${width} 8`, "aria-hidden": "true" });
  svg.append(makeSvg("line", { x1: 0, y1: 4, x2: width, y2: 4 }));
  return svg;
}

/** @param {Element} dash @param {Stroke} stroke */
export function strokeDash(dash, { tone, dash: pattern }) {
  setAttributes(dash, { "data-tone": tone });
  const [line] = dash.children;
  if (line) setAttributes(line, { "stroke-dasharray": DASHES[pattern] || null });
}
