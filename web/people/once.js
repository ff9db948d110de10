// What is shown once: a passphrase, a program's secret, a phone's link with its code.

import { apiUrl } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { say } from "../texts.js";

/** @param {string} text @param {string} secret @param {() => void} done */
export function showOnce(text, secret, done) {
  return card(text, [make("output", {}, secret)], done);
}

/** @param {LinkRecord} link @param {string} until @param {() => void} done */
export function showLink(link, until, done) {
  const code = make("img", { src: apiUrl(`doors/links/${link.id}/code.svg`), alt: say("once.code"), width: 272, height: 272 });
  return card(say("once.link", { name: link.name, to: until }), [code, make("output", { class: "long" }, link.address ?? "")], done);
}

/** @param {string} text @param {Node[]} shown @param {() => void} done */
function card(text, shown, done) {
  return make("section", { class: "once" }, make("p", {}, text), ...shown, pressFor(say("once.done"), done));
}
