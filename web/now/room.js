// The room the statements stand in: kept from one visit to the next, and never given up while they
// only become shorter, so that the sheet under them does not jump.

const KEY = "wormtub.room";

let width = 0;
let tallest = 0;

/** @param {HTMLElement} root @param {HTMLElement} list */
export function keepRoom(root, list) {
  if (root.hidden) return void remember(root, 0);
  const now = innerWidth;
  if (now !== width) {
    [width, tallest] = [now, 0];
    root.style.minHeight = "";
  }
  const needed = list.offsetHeight + (root.offsetHeight > 0 ? root.offsetHeight - root.clientHeight : 0);
  const whole = Math.max(needed, root.scrollHeight);
  if (whole > tallest || root.style.minHeight === "") remember(root, (tallest = Math.max(whole, tallest)));
}

/** @param {HTMLElement} root @param {number} height */
function remember(root, height) {
  root.style.minHeight = height > 0 ? `${height}px` : "";
  try {
    localStorage.setItem(KEY, JSON.stringify({ width: innerWidth, height }));
  } catch {
    // Storage is shut: the next visit finds its room when the statements come.
  }
}

/** Keep the room that was needed last time, before anything is known. @param {HTMLElement} root */
export function keepRoomOfBefore(root) {
  try {
    const { width: before, height } = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    if (before === innerWidth && height > 0) {
      root.hidden = false;
      root.style.minHeight = `${height}px`;
    }
  } catch {
    // As if nothing had been kept.
  }
}

/**
 * On a first visit, the room that so many statements are likely to need (now.css says how much one
 * takes); what they really take is known when they stand.
 * @param {HTMLElement} root @param {number} count
 */
export function keepRoomFor(root, count) {
  if (count === 0 || !root.hidden) return;
  root.hidden = false;
  root.style.minHeight = `calc(var(--statement) + ${count - 1} * var(--statement-more))`;
}
