// The temperature axis: round limits around what is shown, that stand still while lines only
// tremble. Pure.

const LEAST_SPAN = 2; // degrees; closer would make noise look like news
const ROUND = [1, 2, 5];

/** @typedef {{low: number, high: number, step: number}} Scale */

/**
 * @param {readonly (readonly import("./polyline.js").Knot[])[]} lines
 * @param {number} most marks the axis has room for
 * @returns {Scale}
 */
export function scaleFor(lines, most) {
  let low = Infinity;
  let high = -Infinity;
  for (const found of lines) {
    for (const knot of found) {
      low = Math.min(low, knot.low);
      high = Math.max(high, knot.high);
    }
  }
  if (low > high) return { low: 0, high: 100, step: 20 };
  return rounded(low, high, most);
}

/** @param {number} low @param {number} high @param {number} most @returns {Scale} */
function rounded(low, high, most) {
  const middle = (low + high) / 2;
  const half = Math.max(high - low, LEAST_SPAN) * 0.54; // a little air above and below
  const step = stepFor((2 * half) / most);
  const grain = step / 4;
  return {
    low: Math.floor((middle - half) / grain) * grain,
    high: Math.ceil((middle + half) / grain) * grain,
    step,
  };
}

/** The smallest round step (1, 2, 5 times a power of ten) not below a size. @param {number} least */
export function stepFor(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  const factor = ROUND.find((round) => round * power >= least * 0.999) ?? 10;
  return factor * power;
}

/** The marks within a scale, top first. @param {Scale} scale @returns {number[]} */
export function marksOf({ low, high, step }) {
  const found = [];
  for (let k = Math.floor(high / step); k * step >= low; k -= 1) found.push(k * step);
  return found;
}

/** Where a value stands between bottom (0) and top (1). @param {Scale} scale @param {number} value */
export function heightOf({ low, high }, value) {
  return (value - low) / (high - low);
}
