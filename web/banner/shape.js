// A priority's shape: it is told by word and shape, never by colour alone.

import { makeSvg } from "../shared/dom.js";

/** @type {Record<AlarmPriority, string>} */
const PATHS = {
  high: "M10 1 L19.2 18 H0.8 Z M9 6.5 V12 h2 V6.5 Z M9 13.6 v2.2 h2 v-2.2 Z",
  medium: "M10 0.8 L19.2 10 L10 19.2 L0.8 10 Z M10 4.6 L4.6 10 L10 15.4 L15.4 10 Z",
  low: "M10 3 a7 7 0 1 0 0.01 0 Z M10 6 a4 4 0 1 1 -0.01 0 Z",
};

/** A triangle, a diamond or a ring. @param {AlarmPriority} priority */
export function shapeOf(priority) {
  const picture = makeSvg("svg", { viewBox: "0 0 20 20", class: `shape ${priority}`, "aria-hidden": "true" });
  picture.append(makeSvg("path", { d: PATHS[priority], "fill-rule": "evenodd" }));
  return picture;
}
