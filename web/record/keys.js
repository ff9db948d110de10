// The keyboard of a laptop beside the still: one key, one mark.

/** Which key places which mark. @type {Partial<Record<string, MarkKind>>} */
export const MARK_KEYS = { f: "first_drop", e: "foreshots_end", h: "hearts", t: "tails", x: "end", p: "power", n: "note" };

/**
 * @typedef {object} Deeds
 * @property {() => void} big what the moment asks for: the next jar, or the first drop
 * @property {(kind: MarkKind) => void} mark
 * @property {() => void} undo
 */

/** @param {() => Deeds | null} deeds none while something is being typed */
export function mountKeys(deeds) {
  document.addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || isTaken(event)) return;
    const able = deeds();
    const act = able && deedOf(event.key, able);
    if (!act) return;
    event.preventDefault();
    act();
  });
}

/** @param {string} key @param {Deeds} deeds */
function deedOf(key, { big, mark, undo }) {
  if (key === " " || key === "Enter") return big;
  if (key.toLowerCase() === "u") return undo;
  const kind = MARK_KEYS[key.toLowerCase()];
  return kind ? () => mark(kind) : null;
}

/** Whether the key belongs to what has the focus: a field, or a press that it presses. @param {KeyboardEvent} event */
function isTaken({ target, key }) {
  if (!(target instanceof HTMLElement)) return false;
  if (target.closest("input, textarea, select, dialog, [contenteditable]")) return true;
  return (key === " " || key === "Enter") && target.closest("button, a, summary, [role='button']") !== null;
}
