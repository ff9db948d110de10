// Fingers, mouse, wheel and keys on the sheet, turned into verbs: `move`, `zoom`, `follow`,
// `start` (what to do), `point` (where a person looks) and `tap` (where something happened).

import { ask } from "../shared/dom.js";

const WHEEL_STEP = 0.0016; // how much a notch of the wheel zooms
const KEY_ZOOM = 0.6;
const KEY_MOVE = 0.15;
const TAP_PIXELS = 6;

/** @param {HTMLElement} hand */
export function mountGestures(hand) {
  hand.addEventListener("wheel", (event) => wheel(hand, event), { passive: false });
  hand.addEventListener("keydown", (event) => key(hand, event));
  new Pointers(hand);
}

/** @param {HTMLElement} hand @param {WheelEvent} event */
function wheel(hand, event) {
  event.preventDefault();
  const scale = event.deltaMode === 0 ? 1 : 33;
  if (Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey) {
    const delta = (event.deltaX || event.deltaY) * scale;
    ask(hand, "move", { fraction: delta / hand.clientWidth });
    return;
  }
  const factor = Math.exp(Math.max(-240, Math.min(240, event.deltaY * scale)) * WHEEL_STEP);
  ask(hand, "zoom", { factor, anchor: fractionAt(hand, event.clientX) });
}

/** @type {Record<string, [string, object]>} */
const KEYS = {
  ArrowLeft: ["move", { fraction: -KEY_MOVE }],
  ArrowRight: ["move", { fraction: KEY_MOVE }],
  PageUp: ["move", { fraction: -1 }],
  PageDown: ["move", { fraction: 1 }],
  "+": ["zoom", { factor: KEY_ZOOM, anchor: 0.5 }],
  "=": ["zoom", { factor: KEY_ZOOM, anchor: 0.5 }],
  "-": ["zoom", { factor: 1 / KEY_ZOOM, anchor: 0.5 }],
  Home: ["start", {}],
  End: ["follow", {}],
};

/** @param {HTMLElement} hand @param {KeyboardEvent} event */
function key(hand, event) {
  const [verb, detail] = KEYS[event.key] ?? [];
  if (!verb || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  ask(hand, verb, detail);
}

/** The fingers, or the mouse, on the sheet. */
class Pointers {
  /** @type {Map<number, number>} where each is, in pixels from the left */
  down = new Map();
  travelled = 0;

  /** @param {HTMLElement} hand */
  constructor(hand) {
    this.hand = hand;
    hand.addEventListener("pointerdown", (event) => this.press(event));
    hand.addEventListener("pointermove", (event) => this.shift(event));
    hand.addEventListener("pointerup", (event) => this.lift(event));
    hand.addEventListener("pointercancel", (event) => this.lift(event));
    hand.addEventListener("click", (event) => this.tap(event));
    hand.addEventListener("pointerleave", (event) => this.hover(event, null));
  }

  /** @param {PointerEvent} event */
  press(event) {
    if (event.button !== 0) return;
    this.hand.setPointerCapture(event.pointerId);
    this.down.set(event.pointerId, event.clientX);
    this.travelled = 0;
    this.hand.classList.add("held");
  }

  /** @param {PointerEvent} event */
  shift(event) {
    const before = this.down.get(event.pointerId);
    if (before === undefined) {
      this.hover(event, fractionAt(this.hand, event.clientX));
      return;
    }
    const old = [...this.down.values()];
    this.down.set(event.pointerId, event.clientX);
    this.travelled += Math.abs(event.clientX - before);
    if (this.travelled > TAP_PIXELS) dragged(this.hand, old, [...this.down.values()]);
  }

  /** @param {PointerEvent} event */
  lift(event) {
    const alone = this.down.size === 1;
    const known = this.down.delete(event.pointerId);
    if (this.down.size === 0) this.hand.classList.remove("held");
    if (event.type !== "pointerup" || !alone || !known || this.travelled > TAP_PIXELS) return;
    ask(this.hand, "point", { at: fractionAt(this.hand, event.clientX) });
  }

  /** With the click, which comes last: what opens under the finger is not pressed by it. @param {MouseEvent} event */
  tap(event) {
    if (this.travelled <= TAP_PIXELS) ask(this.hand, "tap", { at: fractionAt(this.hand, event.clientX) });
  }

  /** @param {PointerEvent} event @param {number | null} at */
  hover(event, at) {
    if (event.pointerType === "mouse") ask(this.hand, "point", { at });
  }
}

/**
 * One finger drags; two pinch and drag at once.
 * @param {HTMLElement} hand
 * @param {readonly number[]} before
 * @param {readonly number[]} now
 */
function dragged(hand, before, now) {
  const width = hand.clientWidth;
  const shift = middle(now) - middle(before);
  if (before.length === 2 && spread(before) > 8 && spread(now) > 8) {
    const [anchor, landing] = [fractionAt(hand, middle(before)), fractionAt(hand, middle(now))];
    ask(hand, "zoom", { factor: spread(before) / spread(now), anchor, landing });
  } else if (shift !== 0) ask(hand, "move", { fraction: -shift / width });
}

/** @param {readonly number[]} places */
function middle(places) {
  return places.reduce((sum, place) => sum + place, 0) / places.length;
}

/** @param {readonly number[]} places */
function spread(places) {
  return Math.max(...places) - Math.min(...places);
}

/** @param {HTMLElement} hand @param {number} clientX */
function fractionAt(hand, clientX) {
  const { left, width } = hand.getBoundingClientRect();
  return (clientX - left) / width;
}
