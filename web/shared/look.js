// How this browser shows things: unit and theme, kept per browser.

/** @typedef {{unit: "site" | "C" | "F", theme: "system" | "light" | "dark"}} Look */

const KEY = "wormtub.look";
const UNITS = ["site", "C", "F"];
const THEMES = ["system", "light", "dark"];
const systemIsDark = matchMedia("(prefers-color-scheme: dark)");

/** @type {Look} */
let kept = read();

/** Return how this browser wants things shown. */
export function look() {
  return kept;
}

/**
 * Change it, keep it, and tell the page with a `look` event.
 * @param {Partial<Look>} change
 */
export function changeLook(change) {
  kept = { ...kept, ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // Storage is shut: the choice lasts until the page is left.
  }
  applyTheme();
}

/** Keep the theme as chosen, following the system and other tabs of this browser. */
export function followLook() {
  systemIsDark.addEventListener("change", applyTheme);
  addEventListener("storage", (event) => {
    if (event.key !== KEY) return;
    kept = read();
    applyTheme();
  });
  applyTheme();
}

/**
 * Show the page in a theme without keeping it, or (null) in the one chosen.
 * @param {"light" | "dark" | null} theme
 */
export function showTheme(theme) {
  document.documentElement.dataset.theme = theme ?? themeInForce();
  document.dispatchEvent(new CustomEvent("look"));
}

function applyTheme() {
  showTheme(null);
}

/** @returns {"light" | "dark"} */
function themeInForce() {
  if (kept.theme !== "system") return kept.theme;
  return systemIsDark.matches ? "dark" : "light";
}

/** @returns {Look} */
function read() {
  /** @type {{unit?: unknown, theme?: unknown}} */
  let found = {};
  try {
    found = JSON.parse(localStorage.getItem(KEY) ?? "{}");
  } catch {
    // As if nothing had been kept.
  }
  const unit = UNITS.find((known) => known === found.unit) ?? "site";
  const theme = THEMES.find((known) => known === found.theme) ?? "system";
  return /** @type {Look} */ ({ unit, theme });
}
