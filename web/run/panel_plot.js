// Draws one panel of a stack with plotly.js; what is written on it is laid over by panels.js.

import { heightOf, marksOf, stepFor } from "../now/scale.js";
import { DASHES } from "../now/strokes.js";

const CONFIG = { staticPlot: true, displayModeBar: false, responsive: false };
const PIXELS_PER_MARK = 32;
const MARK_PX = 16; // a number stands on its line, as high as this
const AIR = 0.06;
const MINUS = "\u2212";

/** @typedef {import("../now/polyline.js").Path} Path */
/**
 * @typedef {object} Line
 * @property {string} name
 * @property {number} tone
 * @property {number} dash
 * @property {Path} path
 * @property {Path | null} [band]
 * @property {boolean} [dots] points that were measured, each by itself
 * @property {readonly number[]} [errors] of the points, either way
 * @property {boolean} [faint] stands behind the others
 */
/** @typedef {{key: string, title: string, lines: readonly Line[], height_px: number, least: number, decimals: number, fromZero?: boolean}} Panel */
/** @typedef {import("../now/scale.js").Scale} Scale */

/** Round limits about all that is drawn. @param {Panel} panel @returns {Scale} */
export function scaleOf({ lines, height_px, least, fromZero = false }) {
  let [low, high] = [fromZero ? 0 : Infinity, -Infinity];
  for (const { path, band, errors } of lines) {
    path.y.forEach((y, index) => {
      if (y === null) return;
      low = Math.min(low, y - (errors?.[index] ?? 0));
      high = Math.max(high, y + (errors?.[index] ?? 0));
    });
    for (const y of band?.y ?? []) {
      if (y === null) continue;
      low = Math.min(low, y);
      high = Math.max(high, y);
    }
  }
  if (high === -Infinity) return { low: 0, high: least, step: stepFor(least / 2) };
  const span = Math.max(high - low, least);
  const step = stepFor((span * (1 + 2 * AIR)) / Math.max(2, height_px / PIXELS_PER_MARK));
  const grain = step / 4;
  const bottom = fromZero ? 0 : Math.floor((low - span * AIR) / grain) * grain;
  return { low: bottom, high: Math.ceil((Math.max(high, low + span) + span * AIR) / grain) * grain, step };
}

/**
 * @param {Plotly} plotly
 * @param {HTMLElement} root
 * @param {Panel} panel
 * @param {Scale} scale
 * @param {{from: number, to: number}} axis
 * @param {number} width
 */
export function drawPanel(plotly, root, panel, scale, axis, width) {
  const style = getComputedStyle(root);
  const colour = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
  const data = panel.lines.flatMap((line) => traces(line, colour(`--line-${line.tone}`)));
  return plotly.react(root, data, layout(panel, scale, axis, width, colour, style.fontFamily), CONFIG);
}

/** @param {Line} line @param {string} colour */
function traces({ path, band, dots, errors, dash, faint }, colour) {
  const common = { type: "scatter", hoverinfo: "skip", connectgaps: false };
  const found = [];
  if (band) found.push({ ...common, ...band, mode: "lines", fill: "toself", fillcolor: colour, line: { color: colour, width: 0.5 }, opacity: faint ? 0.12 : 0.26 });
  if (dots) {
    const error_y = errors ? { type: "data", array: errors, color: colour, thickness: 1.5, width: 3 } : undefined;
    found.push({ ...common, ...path, mode: "markers", marker: { color: colour, size: 7, line: { width: 0 } }, error_y });
  } else {
    const pattern = DASHES[dash]?.split(" ").filter(Boolean).map((length) => `${length}px`).join(",");
    found.push({ ...common, ...path, mode: "lines", line: { color: colour, width: faint ? 1.5 : 2, dash: pattern || "solid" }, opacity: faint ? 0.7 : 1 });
  }
  return found;
}

/** The marks whose numbers stand whole below the title. @param {Scale} scale @param {number} height_px */
export function marksWithin(scale, height_px) {
  return marksOf(scale).filter((mark) => (1 - heightOf(scale, mark)) * height_px >= MARK_PX);
}

/**
 * @param {Panel} panel
 * @param {Scale} scale
 * @param {{from: number, to: number}} axis
 * @param {number} width
 * @param {(name: string) => string} colour
 * @param {string} family
 */
function layout({ height_px }, scale, { from, to }, width, colour, family) {
  const clear = "rgba(0,0,0,0)";
  const marks = marksWithin(scale, height_px);
  return {
    width, height: height_px, margin: { l: 0, r: 0, t: 0, b: 0, pad: 0 },
    paper_bgcolor: clear, plot_bgcolor: clear, showlegend: false, hovermode: false, dragmode: false,
    font: { family, size: 12, color: colour("--ink-2") },
    xaxis: { range: [from, to], visible: false, fixedrange: true },
    yaxis: {
      range: [scale.low, scale.high], tickvals: marks, ticktext: marks.map((mark) => String(Number(mark.toFixed(4))).replace("-", MINUS)),
      tickfont: { color: colour("--ink-2") }, ticklabelposition: "inside top", ticklabeloverflow: "allow", ticks: "", gridcolor: colour("--rule"), gridwidth: 1,
      zeroline: false, showline: false, fixedrange: true, layer: "above traces",
    },
  };
}
