// A sample of a line: its colour and its dash, as a small picture.

import { makeSvg, setAttributes } from "../shared/dom.js";
import { DASHES } from "./strokes.js";

/** @param {number} [width] */
export function makeDash(width = 22) {
  const svg = makeSvg("svg", { class: "dash", width, height: 8, viewBox: `0 0 ${width} 8`, "aria-hidden": "true" });
  svg.append(makeSvg("line", { x1: 0, y1: 4, x2: width, y2: 4 }));
  return svg;
}

/** @param {Element} dash @param {import("./strokes.js").Stroke} stroke */
export function strokeDash(dash, { tone, dash: pattern }) {
  setAttributes(dash, { "data-tone": tone });
  const [line] = dash.children;
  if (line) setAttributes(line, { "stroke-dasharray": DASHES[pattern] || null });
}
