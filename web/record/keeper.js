// What a page of the record needs to take entries: what waits shown at the top, everything entered
// by way of the queue, the last of it undone by one press.

import { Refusal } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { restsFor } from "../shared/queue.js";
import { openWaiting } from "../shared/waiting.js";
import { say } from "../texts.js";
import { mountWaiting } from "./waiting_list.js";
import { canTakeBack, takeBack } from "./wishes.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {import("../shared/waiting.js").Wish} Wish */

/**
 * @param {object} given
 * @param {() => void} given.refresh loads what stands now
 * @param {() => void} given.redraw shows what is known with what waits
 * @param {() => string} given.zone
 * @param {((entry: Waiting) => void) | null} [given.mend] opens what was refused for mending
 * @param {(entry: Waiting) => boolean} [given.mends] whether it can
 */
export function makeKeeper({ refresh, redraw, zone, mend = null, mends }) {
  const waiting = make("div", { hidden: true });
  const said = make("p", { role: "status" });
  const undo = pressFor(say("run.undo"), () => void takeLastBack(), "undo");
  const done = make("div", { class: "done", hidden: true }, said, undo);
  const root = make("div", { class: "keeper" }, waiting, done);
  /** @type {readonly Waiting[]} */
  let entries = [];
  /** @type {Waiting | null} */
  let last = null;
  /** @type {Set<() => void>} */
  const looking = new Set();

  const queue = openWaiting({
    changed(now, held) {
      entries = now;
      for (const look of [...looking]) look();
      void queue.then(() => show(now, held));
      redraw();
    },
    taken: () => refresh(),
  });
  /** @type {import("../shared/waiting.js").WaitingQueue | null} */
  let open = null;
  const show = mountWaiting(waiting, () => /** @type {import("../shared/waiting.js").WaitingQueue} */ (open), zone, mend, mends);
  const ready = queue.then((found) => (open = found));

  /** @param {Wish} wish */
  async function enter(wish) {
    last = await (await ready).add(wish);
    setText(said, wish.label);
    undo.hidden = !canTakeBack(last);
    done.hidden = false;
    return last;
  }

  /** Enter from a form: a refusal comes back to its field; what waits has been taken by this browser. @param {Wish} wish */
  async function submit(wish) {
    const entry = await enter(wish);
    const found = await settled(entry.id);
    if (!found?.trouble || found.trouble.now) return;
    await (await ready).drop(entry.id);
    last = null;
    done.hidden = true;
    throw atField(found.trouble);
  }

  /** What has become of an entry: undefined once it is taken. @param {string} id @returns {Promise<Waiting | undefined>} */
  function settled(id) {
    return new Promise((resolve) => {
      const look = () => {
        const entry = entries.find((each) => each.id === id);
        if (entry && !restsFor(entries, entry)) return;
        looking.delete(look);
        resolve(entry);
      };
      looking.add(look);
      look();
    });
  }

  async function takeLastBack() {
    const entry = last;
    if (!entry) return;
    last = null;
    done.hidden = true;
    await (await ready).undo(entry, takeBack(entry, say("run.undone", { what: entry.label })));
    refresh();
  }

  return { root, enter, submit, entries: () => entries, queue: ready };
}

/** A field within others goes by its own name: the form has but one of it. @param {import("../shared/queue.js").Trouble} trouble */
function atField({ sentence, field, status }) {
  const own = field?.split(".").filter((part) => !/^\d+$/.test(part)).at(-1) ?? null; // a list has one row
  return new Refusal(field && own ? sentence.replaceAll(field, own) : sentence, "refused", own, status);
}

/** @typedef {ReturnType<typeof makeKeeper>} Keeper */
