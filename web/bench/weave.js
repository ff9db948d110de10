// Parts of a text as nodes, the bold ones set bold.

import { make } from "../shared/dom.js";

/** @param {readonly import("../texts.js").Part[]} parts @returns {(Node | string)[]} */
export function weave(parts) {
  return parts.map(({ text, strong }) => (strong ? make("strong", {}, text) : text));
}
