// One small chart: dots in the order they came, joined by a fine line, the newest one strong.

import { make, makeSvg } from "../shared/dom.js";
import { woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { isShare, keyed, signed } from "../run/format.js";

const [WIDE, HIGH, EDGE] = [280, 84, 8];
const LEAST_SPAN = 0.1; // of the greatest value

/** @typedef {{value: number, when: string, title: string}} Point */

/** @param {ReviewKey} key @param {readonly Point[]} points @param {string} [hint] */
export function spark(key, points, hint = "") {
  const [first, last, before] = [points[0], points.at(-1), points.at(-2)];
  if (!first || !last) return null;
  const values = points.map(({ value }) => value);
  const [least, greatest] = [Math.min(...values), Math.max(...values)];
  const [low, high] = bounds(least, greatest);
  const told = (/** @type {number} */ value) => keyed(key, value);
  const label = say("trends.chart", { label: key.label, count: points.length, first: told(first.value), last: told(last.value), least: told(least), greatest: told(greatest) });
  return make("figure", { class: "spark" },
    make("figcaption", {}, make("b", {}, key.label), make("span", {}, ...woven(parts("trends.newest", { value: told(last.value) }))), ...(before ? [make("small", {}, changeText(key, last.value - before.value))] : []), ...(hint ? [make("small", { class: "hint" }, hint)] : [])),
    make("div", { class: "plotted" }, picture(points, low, high, label), make("p", { class: "bounds", "aria-hidden": "true" }, make("span", {}, told(high)), make("span", {}, told(low)))),
    make("p", { class: "ends2", "aria-hidden": "true" }, make("span", {}, first.when), make("span", {}, points.length > 1 ? last.when : "")));
}

/** Where little changed, little is seen to change. @param {number} least @param {number} greatest @returns {[number, number]} */
function bounds(least, greatest) {
  const span = Math.max(greatest - least, LEAST_SPAN * Math.max(Math.abs(greatest), Math.abs(least))) || 1;
  const low = (least + greatest - span) / 2;
  const down = least >= 0 ? Math.max(0, low) : low;
  return [down, down + span];
}

/** @param {ReviewKey} key @param {number} less */
function changeText(key, less) {
  const [value, decimals, unit] = isShare(key) ? [less * 100, 1, say("trends.points")] : [less, key.decimals, key.unit];
  const text = signed(value, decimals);
  return Number(text) === 0 ? say("trends.same") : say("trends.change", { change: `${text} ${unit}`.trim() });
}

/** @param {readonly Point[]} points @param {number} low @param {number} high @param {string} label */
function picture(points, low, high, label) {
  const svg = makeSvg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": label });
  const x = (/** @type {number} */ at) => (points.length === 1 ? WIDE - EDGE : EDGE + (at / (points.length - 1)) * (WIDE - 2 * EDGE));
  const y = (/** @type {number} */ value) => HIGH - EDGE - ((value - low) / (high - low)) * (HIGH - 2 * EDGE);
  const places = points.map(({ value }, at) => `${x(at).toFixed(1)},${y(value).toFixed(1)}`);
  svg.append(makeSvg("polyline", { points: places.join(" ") }));
  points.forEach(({ value, title }, at) => {
    const dot = makeSvg("circle", { cx: x(at).toFixed(1), cy: y(value).toFixed(1), r: at === points.length - 1 ? 4.5 : 3, class: at === points.length - 1 ? "newest" : null });
    const says = makeSvg("title");
    says.textContent = title;
    dot.append(says);
    svg.append(dot);
  });
  return svg;
}
