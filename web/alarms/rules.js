import { make } from "../shared/dom.js";
/** @param {object} _means @param {string} _about */
export function rulesPart(_means, _about) {
  return { root: make("section", {}) };
}
