// Draws the lines with plotly.js. Everything a finger or a mouse does is handled elsewhere; the
// time axis is ours because plotly.js knows no time zones.

import { degrees, unitSign } from "../shared/units.js";
import { band, knots, middle, stretches } from "./polyline.js";
import { DASHES } from "./strokes.js";
import { spanOf } from "./view.js";

const HAIR_PX = 1; // a band that is thinner everywhere is not seen behind its line

const CONFIG = { staticPlot: true, displayModeBar: false, responsive: false };

/** @typedef {{width: number, height: number}} Size */

/**
 * @param {Plotly} plotly
 * @param {HTMLElement} root
 * @param {import("./drawing.js").Drawing} drawn
 * @param {Size} size
 * @param {import("../shared/units.js").Unit} unit
 * @param {readonly import("./behind.js").Behind[]} behind what stands faintly behind the lines
 */
export function draw(plotly, root, drawn, size, unit, behind) {
  const style = getComputedStyle(root);
  const colour = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
  const tone = (/** @type {import("./drawing.js").Drawn} */ { line }) => colour(`--line-${line.stroke.tone}`);
  const data = [...drawn.lines.flatMap((line) => faint(line, behind, drawn, unit, tone(line))), ...drawn.lines.flatMap((line) => traces(line, drawn, size, tone(line)))];
  return plotly.react(root, data, layout(drawn, size, unitSign(unit), colour, style.fontFamily), CONFIG);
}

/**
 * The reference run's line at the same place, in the line's own colour and dash.
 * @param {import("./drawing.js").Drawn} drawn
 * @param {readonly import("./behind.js").Behind[]} behind
 * @param {import("./drawing.js").Drawing} whole
 * @param {import("../shared/units.js").Unit} unit
 * @param {string} colour
 */
function faint({ line, faded }, behind, { view }, unit, colour) {
  const own = behind.find(({ key }) => key === line.key);
  if (!own || faded) return [];
  const runs = stretches(knots(own.trace, view.from_ms, view.to_ms, (celsius) => degrees(celsius, unit)));
  return [{ type: "scatter", mode: "lines", hoverinfo: "skip", simplify: true, ...middle(runs, 0), line: { color: colour, width: 4 }, opacity: 0.22 }];
}

/**
 * @param {import("./drawing.js").Drawn} drawn
 * @param {import("./drawing.js").Drawing} whole
 * @param {Size} size
 * @param {string} colour
 */
function traces({ runs, faded, line }, { view, bucket_ms, scale }, size, colour) {
  const stub_ms = Math.max(bucket_ms / 2, spanOf(view) / size.width);
  const outline = band(runs, stub_ms, (HAIR_PX / size.height) * (scale.high - scale.low));
  const common = { type: "scatter", mode: "lines", hoverinfo: "skip", simplify: true };
  const dash = DASHES[line.stroke.dash]?.split(" ").filter(Boolean).map((length) => `${length}px`).join(",");
  const strong = [0, 1].includes(line.stroke.tone) ? 2.5 : 2;
  const extremes = {
    ...common, ...outline, fill: "toself", fillcolor: colour,
    line: { color: colour, width: 1 }, opacity: faded ? 0.05 : 0.28,
  };
  const course = {
    ...common, ...middle(runs, stub_ms),
    line: { color: colour, width: strong, dash: dash || "solid" }, opacity: faded ? 0.2 : 1,
  };
  return outline.x.length > 0 ? [extremes, course] : [course];
}

/**
 * @param {import("./drawing.js").Drawing} drawn
 * @param {Size} size
 * @param {string} sign
 * @param {(name: string) => string} colour
 * @param {string} family
 */
function layout({ view, scale, marks }, size, sign, colour, family) {
  const clear = "rgba(0,0,0,0)";
  const texts = marks.map((mark, index) => {
    const text = String(Number(mark.toFixed(2))).replace("-", "\u2212");
    return index === 0 ? `${text} ${sign}` : text;
  });
  return {
    ...size,
    margin: { l: 0, r: 0, t: 0, b: 0, pad: 0 },
    paper_bgcolor: clear, plot_bgcolor: clear,
    showlegend: false, hovermode: false, dragmode: false,
    font: { family, size: 12, color: colour("--ink-2") },
    xaxis: { range: [view.from_ms, view.to_ms], visible: false, fixedrange: true },
    yaxis: {
      range: [scale.low, scale.high], tickvals: marks, ticktext: texts, tickfont: { color: colour("--ink-2") },
      ticklabelposition: "inside top", ticklabeloverflow: "allow", ticks: "", gridcolor: colour("--rule"), gridwidth: 1,
      zeroline: false, showline: false, fixedrange: true, layer: "above traces",
    },
  };
}

/**
 * Slide what was drawn for one view to where another wants it, without drawing again.
 * @param {HTMLElement} root
 * @param {import("./view.js").View} drawn
 * @param {import("./view.js").View} view
 * @param {number} width
 */
export function slide(root, drawn, view, width) {
  const stretch = spanOf(drawn) / spanOf(view);
  const shift = ((drawn.from_ms - view.from_ms) / spanOf(view)) * width;
  for (const layer of root.querySelectorAll(".scatterlayer")) {
    layer.setAttribute("transform", `translate(${shift} 0) scale(${stretch} 1)`);
  }
}
