// The bell at the top of every page: whether an alarm would be heard here, and the press for it.

import "./texts.js";
import { make, makeSvg, setAttributes } from "../shared/dom.js";
import { say } from "../texts.js";
import { hearing, soundOff, soundOn } from "./sound.js";

/** @returns {HTMLButtonElement} */
export function makeBell() {
  const picture = makeSvg("svg", { viewBox: "0 0 24 24", class: "bell", "aria-hidden": "true" });
  picture.append(
    makeSvg("path", { class: "body", d: "M5 17 C7 15 6.5 12 7 9.5 C7.5 6.5 9.5 5 12 5 C14.5 5 16.5 6.5 17 9.5 C17.5 12 17 15 19 17 Z M10.5 19.5 h3" }),
    makeSvg("path", { class: "struck", d: "M4 4 L20 20" }),
  );
  const button = make("button", { type: "button", class: "quiet bellpress" });
  button.append(picture);
  button.addEventListener("click", () => (hearing() === "on" ? soundOff() : void soundOn()));
  document.addEventListener("hearing", draw);

  function draw() {
    const how = hearing();
    const text = say(`alarm.bell.${how}`);
    setAttributes(button, { "data-how": how, "aria-label": text, title: text, disabled: how === "none" });
  }

  draw();
  return button;
}
