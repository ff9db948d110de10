// This browser as a caller: its sound and its notifications, each with a press and a trial, and
// where it cannot, why.

import { make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { askToTell, notify, telling } from "../banner/notify.js";
import { hearing, soundOff, soundOn, tryTune } from "../banner/sound.js";
import { say } from "../texts.js";

const PRIORITIES = /** @type {const} */ (["high", "medium", "low"]);

export function browserPart() {
  const [heard, told] = [make("p", {}), make("p", {})];
  const [sounds, tells] = [make("div", { class: "deeds" }), make("div", { class: "deeds" })];
  const trouble = make("p", { class: "trouble", role: "alert" });
  const root = make("div", {}, heard, sounds, told, tells, trouble);

  function draw() {
    const how = hearing();
    setText(heard, say(`calls.sound.${how}`));
    fill(sounds, how, () => {
      if (how === "none") return [];
      if (how !== "on") return [pressFor(say("calls.sound.let"), () => void soundOn(), "main")];
      return [...PRIORITIES.map((one) => pressFor(say(`calls.sound.try.${one}`), () => tryTune(one))), pressFor(say("calls.sound.stop"), soundOff, "quiet")];
    });
    const tell = telling();
    setText(told, say(`calls.tell.${tell}`));
    fill(tells, tell, () => {
      if (tell === "ask") return [pressFor(say("calls.tell.let"), () => void askToTell().then(draw), "main")];
      return tell === "on" ? [pressFor(say("calls.tell.try"), () => void trial())] : [];
    });
  }

  async function trial() {
    setText(trouble, "");
    try {
      await notify({ key: "trial", title: say("calls.trial.title"), body: say("calls.trial.body"), urgent: false });
    } catch (error) {
      console.info("the browser showed no notification", error);
      setText(trouble, say("calls.tell.failed"));
    }
  }

  document.addEventListener("hearing", draw);
  document.addEventListener("telling", draw);
  draw();
  return root;
}

/** New presses only where the state is another, so that none is taken from under a finger. @param {HTMLElement} root @param {string} state @param {() => Node[]} presses */
function fill(root, state, presses) {
  if (root.dataset.state === state) return;
  root.dataset.state = state;
  root.replaceChildren(...presses());
}
