// Draws the panels of a curve with plotly.js; what is written on them is laid over it by curve.js.

import { DASHES } from "../now/strokes.js";

const CONFIG = { staticPlot: true, displayModeBar: false, responsive: false };
const FAINT = 0.2;

/** @typedef {{left: number, width: number, outer: number, tops: number[], heights: number[], whole: number}} Box where the panels stand, in pixels */

/**
 * @param {Plotly} plotly
 * @param {HTMLElement} root
 * @param {import("./curve_data.js").Picture} picture
 * @param {Box} box
 */
export function draw(plotly, root, picture, box) {
  const style = getComputedStyle(root);
  const colour = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
  const data = picture.panels.flatMap((panel, index) => tracesOf(panel, index, picture.xs, colour));
  return plotly.react(root, data, layout(picture, box, colour, style.fontFamily), CONFIG);
}

/**
 * @param {import("./curve_data.js").Panel} panel
 * @param {number} index
 * @param {(number | null)[]} xs
 * @param {(name: string) => string} colour
 */
function tracesOf({ lines, band }, index, xs, colour) {
  const axes = index === 0 ? {} : { yaxis: `y${index + 1}` };
  const common = { type: "scatter", mode: "lines", hoverinfo: "skip", connectgaps: false, ...axes };
  const drawn = lines.map(({ ys, tone, dash }) => ({
    ...common, x: xs, y: ys,
    line: { color: colour(`--line-${tone}`), width: 2.5, dash: dashText(dash) },
  }));
  if (!band) return drawn;
  const edge = { color: colour(`--line-${band.tone}`), width: 1, dash: "2px,3px" };
  return [...fills(xs, band).map((shape) => ({ ...common, ...shape, fill: "toself", fillcolor: colour(`--line-${band.tone}`), line: { width: 0 }, opacity: FAINT })),
    { ...common, x: xs, y: band.low, line: edge }, { ...common, x: xs, y: band.high, line: edge }, ...drawn];
}

/** The band as closed shapes, one for each stretch without a gap. @param {(number | null)[]} xs @param {{low: (number | null)[], high: (number | null)[]}} band */
function fills(xs, { low, high }) {
  /** @type {{x: number[], y: number[]}[]} */
  const shapes = [];
  /** @type {{x: number, low: number, high: number}[]} */
  let run = [];
  const close = () => {
    if (run.length > 1) {
      const back = [...run].reverse();
      shapes.push({ x: [...run, ...back].map((p) => p.x), y: [...run.map((p) => p.high), ...back.map((p) => p.low)] });
    }
    run = [];
  };
  xs.forEach((x, index) => {
    const [a, b] = [low[index], high[index]];
    if (x === null || a == null || b == null) close();
    else run.push({ x, low: a, high: b });
  });
  close();
  return shapes;
}

/** @param {number} dash */
function dashText(dash) {
  return DASHES[dash]?.split(" ").filter(Boolean).map((length) => `${length}px`).join(",") || "solid";
}

/**
 * @param {import("./curve_data.js").Picture} picture
 * @param {Box} box
 * @param {(name: string) => string} colour
 * @param {string} family
 */
function layout({ panels, xAxis }, box, colour, family) {
  const clear = "rgba(0,0,0,0)";
  const quiet = { zeroline: false, fixedrange: true, gridcolor: colour("--rule"), tickfont: { color: colour("--ink-2") }, ticks: "" };
  const foot = box.whole - Math.max(...box.tops.map((top, index) => top + (box.heights[index] ?? 0)));
  const first = box.tops[0] ?? 0;
  const inner = box.whole - first - foot;
  const yaxes = panels.map(({ axis }, index) => {
    const top = 1 - ((box.tops[index] ?? 0) - first) / inner;
    return [index === 0 ? "yaxis" : `yaxis${index + 1}`, {
      ...quiet, range: [axis.low, axis.high], tickvals: ticksOf(axis), ticktext: ticksOf(axis).map(tickText),
      domain: [Math.max(0, top - (box.heights[index] ?? 0) / inner), Math.min(1, top)], anchor: "x",
      showline: true, linecolor: colour("--rule-2"), ticklabelstandoff: 4,
    }];
  });
  return {
    width: box.left + box.width + 8, height: box.whole,
    margin: { l: box.left, r: 8, t: first, b: foot, pad: 0 },
    paper_bgcolor: clear, plot_bgcolor: clear, showlegend: false, hovermode: false, dragmode: false,
    font: { family, size: 12, color: colour("--ink-2") },
    xaxis: {
      ...quiet, range: [xAxis.low, xAxis.high], tickvals: ticksOf(xAxis), ticktext: ticksOf(xAxis).map(tickText),
      anchor: panels.length > 1 ? `y${panels.length}` : "y", showline: true, linecolor: colour("--rule-2"), showgrid: true, ticklabelstandoff: 4,
    },
    ...Object.fromEntries(yaxes),
  };
}

/** @param {import("./curve_data.js").Axis} axis */
export function ticksOf({ low, high, step }) {
  const found = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + step * 1e-9; k += 1) found.push(k * step);
  return found;
}

/** @param {number} value */
function tickText(value) {
  return Number(value.toPrecision(6)).toLocaleString("en-GB", { maximumFractionDigits: 6 }).replace("-", "\u2212");
}
