// Parts of a text as nodes, the bold ones set bold.

import { make } from "../shared/dom.js";

const SHORT = 20; // characters that stay on one line, as a number and its unit do

/** @param {readonly import("../texts.js").Part[]} parts @returns {(Node | string)[]} */
export function weave(parts) {
  return parts.map(({ text, strong }) => (strong ? make("strong", { class: text.length <= SHORT ? "short" : null }, text) : text));
}
