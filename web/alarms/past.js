import { make } from "../shared/dom.js";
/** @param {object} _means @param {string} _about */
export function pastPart(_means, _about) {
  return { root: make("section", {}) };
}
