// The top of every page: where one is, where one can go, whether what is seen is simulated, and
// how this browser shows things.

import { make, makeSvg, on, setText } from "./dom.js";
import { changeLook, look } from "./look.js";
import { unitSign } from "./units.js";
import { say } from "../texts.js";

const PAGES = /** @type {const} */ ([["now", "./"], ["alarms", "alarms.html"], ["batches", "batches.html"], ["runs", "runs.html"], ["cellar", "cellar.html"], ["bench", "bench.html"], ["probes", "probes.html"], ["vessels", "vessels.html"]]);
const ROOT = new URL("../", import.meta.url);
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const PUSHED = 0.6; // of what is seen of the pages, at a press

/**
 * Listens to the noun `site`.
 * @param {HTMLElement} root
 * @param {string} current the key of the page this is
 */
export function mountHeader(root, current) {
  const flag = make("button", { type: "button", class: "flag", hidden: true, title: say("simulated.long"), "aria-expanded": "false" }, say("simulated.flag"));
  flag.addEventListener("click", () => void togglePanel(root, flag));
  const dialog = lookDialog();
  const open = make("button", { type: "button", class: "quiet display", "aria-haspopup": "dialog" }, halfMoon(), make("span", {}, say("look.open")));
  open.addEventListener("click", () => dialog.showModal());
  root.append(make("a", { class: "skip", href: "#main" }, say("nav.skip")), brand(), pages(current), flag, open, dialog);
  void bringBanner(root, current, open);
  on(root, "site", (/** @type {Site} */ site) => {
    flag.hidden = !site.simulated;
    const label = dialog.querySelector("[data-key='unit.site']");
    if (label) setText(label, say("look.unit.site", { unit: unitSign(site.temperature_unit) }));
  });
}

function brand() {
  const mark = make("img", { src: new URL("mark.svg", ROOT).href, alt: "", width: 26, height: 26 });
  return make("span", { class: "brand" }, mark, make("span", {}, say("app.name")));
}

/** The alarms' banner, brought as soon as the page itself has what it needs; a page never stays without it unsaid. @param {HTMLElement} root @param {string} current @param {Element} slot */
async function bringBanner(root, current, slot) {
  /** @type {Site | null} */
  let known = null;
  on(root, "site", (/** @type {Site} */ site) => {
    known = site;
  });
  if (document.readyState !== "complete") await new Promise((resolve) => addEventListener("load", resolve, { once: true }));
  addSheet(new URL("banner/banner.css", ROOT).href);
  try {
    const { mountBanner } = await import("../banner/banner.js");
    mountBanner(root, { current, site: () => known, slot });
  } catch (error) {
    console.info("the banner did not come", error);
    root.before(make("p", { class: "nobanner", role: "alert" }, say("banner.missing"), " ", make("a", { href: location.href }, say("link.reload"))));
  }
}

/** The pages; where they do not fit, the edge behind which there are more fades under an arrow that pushes them along. @param {string} current */
function pages(current) {
  const nav = make("nav", { "aria-label": say("nav.label") }, ...PAGES.map(([key, href]) => link(key, href, current)));
  hintAtMore(nav);
  return make("div", { class: "pages" }, nav, arrow(nav, "earlier", -1), arrow(nav, "later", 1));
}

/** For fingers alone: keys and screen readers go from page to page by themselves. @param {HTMLElement} nav @param {string} name @param {-1 | 1} way */
function arrow(nav, name, way) {
  const picture = makeSvg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true" });
  picture.append(makeSvg("path", { d: way === 1 ? "M9 5 L16 12 L9 19" : "M15 5 L8 12 L15 19" }));
  const press = make("button", { type: "button", class: `along ${name}`, "aria-hidden": "true", tabindex: -1 }, picture);
  press.addEventListener("click", () => nav.scrollBy({ left: way * nav.clientWidth * PUSHED, behavior: calm.matches ? "auto" : "smooth" }));
  return press;
}

/** @param {HTMLElement} nav */
function hintAtMore(nav) {
  const hint = () => {
    nav.classList.toggle("before", nav.scrollLeft > 2);
    nav.classList.toggle("after", nav.scrollLeft + nav.clientWidth < nav.scrollWidth - 2);
  };
  nav.addEventListener("scroll", hint, { passive: true });
  new ResizeObserver(() => {
    const here = nav.querySelector("[aria-current]");
    if (here instanceof HTMLElement) nav.scrollLeft = here.offsetLeft - (nav.clientWidth - here.offsetWidth) / 2;
    hint();
  }).observe(nav);
}

/** Half light, half dark: how this browser shows things, where there is no room for the word. */
function halfMoon() {
  const picture = makeSvg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true" });
  picture.append(makeSvg("path", { d: "M12 4 a8 8 0 1 0 0.01 0 Z M12 6 V18 a6 6 0 0 0 0 -12 Z", "fill-rule": "evenodd" }));
  return picture;
}

/** @param {string} key @param {string} href @param {string} current */
function link(key, href, current) {
  const here = key === current;
  return make("a", { href: new URL(href, ROOT).href, "aria-current": here ? "page" : null }, say(`page.${key}`));
}

/** The simulation's panel, fetched when it is first wanted. @param {HTMLElement} root @param {HTMLElement} flag */
async function togglePanel(root, flag) {
  const there = document.querySelector(".simulation");
  flag.setAttribute("aria-expanded", String(!there));
  if (there) return there.remove();
  addSheet(new URL("simulation/simulation.css", ROOT).href);
  const { makePanel } = await import("../simulation/panel.js");
  const panel = makePanel(() => {
    panel.root.remove();
    flag.setAttribute("aria-expanded", "false");
    flag.focus();
  });
  root.after(panel.root);
  panel.open();
}

/** @param {string} href */
function addSheet(href) {
  if (document.querySelector(`link[href="${href}"]`) === null) document.head.append(make("link", { rel: "stylesheet", href }));
}

function lookDialog() {
  const done = make("button", { class: "main" }, say("look.close"));
  const title = make("h2", { id: "look-title" }, say("look.title"));
  const guide = make("a", { class: "quiet", href: new URL("guide.html", ROOT).href }, say("look.guide"));
  const health = make("a", { class: "quiet", href: new URL("health.html", ROOT).href }, say("look.health"));
  const people = make("a", { class: "quiet", href: new URL("people.html", ROOT).href }, say("look.people"));
  const form = make("form", { method: "dialog" }, title,
    choice("unit", ["site", "C", "F"]), choice("theme", ["system", "light", "dark"]), guide, health, people, done);
  const dialog = make("dialog", { class: "look", "aria-labelledby": "look-title" }, form);
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) dialog.close();
  });
  return dialog;
}

/** @param {"unit" | "theme"} name @param {readonly string[]} values */
function choice(name, values) {
  const set = make("fieldset", {}, make("legend", {}, say(`look.${name}`)));
  for (const value of values) {
    const input = make("input", { type: "radio", name, value });
    input.checked = look()[name] === value;
    const text = make("span", { "data-key": `${name}.${value}` }, say(`look.${name}.${value}`, { unit: "°C" }));
    set.append(make("label", {}, input, text));
  }
  set.addEventListener("change", (event) => {
    if (event.target instanceof HTMLInputElement) changeLook({ [name]: event.target.value });
  });
  return set;
}
