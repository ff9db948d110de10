// Pages of the record follow what others enter: loaded again whenever the service says that
// something changed, with what was unfolded, scrolled or held by the keyboard kept as it was.

import { listen } from "../now/link.js";
import { get } from "../shared/api.js";

const RETRY_MS = 3000;

/**
 * Load a page again whenever the record changes; while nobody looks, once they do.
 * @param {() => Promise<void>} refresh
 */
export function followRecord(refresh) {
  let busy = false;
  let due = false;

  async function changed() {
    due = true;
    if (busy || document.hidden) return;
    busy = true;
    while (due && !document.hidden) {
      due = false;
      await refresh();
    }
    busy = false;
  }

  async function begin() {
    try {
      const { event_id } = await get("live");
      listen({ scan: () => {}, again: () => void changed(), record: () => void changed(), open: () => {}, lost: () => {} }, event_id);
    } catch (error) {
      console.info("the page does not follow yet; trying again", error);
      setTimeout(() => void begin(), RETRY_MS);
    }
  }

  document.addEventListener("visibilitychange", () => due && void changed());
  void begin();
}

/**
 * Put other children in the place of those there were, as far open, scrolled and held as they were.
 * @param {Element} root
 * @param {...(Node | string)} children
 */
export function renew(root, ...children) {
  const open = new Set([...root.querySelectorAll("details[open] > summary")].map(({ textContent }) => textContent));
  const scrolled = [...root.querySelectorAll(".scroll, .jars")].map(({ scrollLeft }) => scrollLeft);
  const { activeElement } = document;
  const held = root.contains(activeElement) ? activeElement : null;
  const place = held ? alike(root, held).indexOf(held) : -1;
  root.replaceChildren(...children);
  for (const summary of root.querySelectorAll("details > summary")) {
    if (open.has(summary.textContent)) summary.parentElement?.setAttribute("open", "");
  }
  root.querySelectorAll(".scroll, .jars").forEach((each, index) => (each.scrollLeft = scrolled[index] ?? 0));
  const again = held ? alike(root, held)[place] : null;
  if (again instanceof HTMLElement) again.focus({ preventScroll: true });
}

/** Those that look like an element. @param {Element} root @param {Element} held @returns {Element[]} */
function alike(root, { tagName, textContent }) {
  return [...root.querySelectorAll(tagName)].filter((each) => each.textContent === textContent);
}
