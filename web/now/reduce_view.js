// How what a person does changes what is shown. Pure.

import { edgeOf } from "./health.js";
import { following, move, spanOf, startAt, zoom } from "./view.js";

/**
 * @typedef {{name: "move", fraction: number}
 *   | {name: "zoom", factor: number, anchor: number, landing?: number}
 *   | {name: "range", span_ms: number}
 *   | {name: "follow"}
 *   | {name: "start"}
 *   | {name: "alone", key: string}
 *   | {name: "vessel", vessel: string | null | undefined}
 *   | {name: "form", form: "chart" | "table"}} Sight
 */

/** @typedef {import("./reduce.js").State} State */

/** @param {State} state @param {Sight} event @returns {State} */
export function changedView(state, event) {
  const { view } = state;
  const edge = edgeOf(state);
  switch (event.name) {
    case "move": return { ...state, view: move(view, event.fraction, edge) };
    case "zoom": return { ...state, view: zoom(view, event.factor, event.anchor, edge, event.landing) };
    case "range": return { ...state, view: following(event.span_ms, edge) };
    case "follow": return { ...state, view: following(spanOf(view), edge) };
    case "start": return { ...state, view: startAt(view, startOf(state), edge) };
    case "alone": return { ...state, alone: state.alone === event.key ? null : event.key };
    case "vessel": return { ...state, vessel: event.vessel, alone: null };
    case "form": return { ...state, form: event.form };
  }
}

/** The first instant of what is loaded. @param {State} state */
function startOf({ history, view }) {
  const starts = (history?.traces ?? []).flatMap(({ segments }) => segments.map(({ t0_ms }) => t0_ms));
  return Math.min(view.from_ms, ...starts);
}
