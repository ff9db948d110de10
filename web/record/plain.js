// What this page can do in this browser, and what browsers withhold on plain http.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";

/** Says so by itself only where something is withheld. */
export function makePlain() {
  const whole = isSecureContext && "serviceWorker" in navigator;
  const said = whole ? [say("plain.secure")] : [say("plain.can"), say("plain.cannot")];
  return make("details", { class: whole ? "plain" : "plain withheld" }, make("summary", {}, say("plain.title")), ...said.map((text) => make("p", {}, text)));
}
