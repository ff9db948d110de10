// The top of every page: where one is, where one can go, whether what is seen is simulated, and
// how this browser shows things.

import { get } from "./api.js";
import { make, on, setText } from "./dom.js";
import { changeLook, look } from "./look.js";
import { unitSign } from "./units.js";
import { say } from "../texts.js";

/** Pages besides the first, each with what must answer for it to be there. */
const PAGES = [{ key: "bench", href: "bench.html", needs: "calculations" }];
const ROOT = new URL("../", import.meta.url);

/**
 * Listens to the noun `site`.
 * @param {HTMLElement} root
 * @param {string} current the key of the page this is
 */
export function mountHeader(root, current) {
  const nav = make("nav", { "aria-label": say("nav.label") }, link("now", "./", current));
  const flag = make("strong", { class: "flag", hidden: true, title: say("simulated.long") }, say("simulated.flag"));
  const dialog = lookDialog();
  const open = make("button", { type: "button", class: "quiet", "aria-haspopup": "dialog" }, say("look.open"));
  open.addEventListener("click", () => dialog.showModal());
  root.append(make("a", { class: "skip", href: "#main" }, say("nav.skip")), brand(), nav, flag, open, dialog);
  on(root, "site", (/** @type {Site} */ site) => {
    flag.hidden = !site.simulated;
    const label = dialog.querySelector("[data-key='unit.site']");
    if (label) setText(label, say("look.unit.site", { unit: unitSign(site.temperature_unit) }));
  });
  for (const page of PAGES) addWhereServed(nav, page, current);
}

function brand() {
  const mark = make("img", { src: new URL("mark.svg", ROOT).href, alt: "", width: 26, height: 26 });
  return make("span", { class: "brand" }, mark, make("span", {}, say("app.name")));
}

/** @param {string} key @param {string} href @param {string} current */
function link(key, href, current) {
  const here = key === current;
  return make("a", { href: new URL(href, ROOT).href, "aria-current": here ? "page" : null }, say(`page.${key}`));
}

/**
 * @param {HTMLElement} nav
 * @param {{key: string, href: string, needs: string}} page
 * @param {string} current
 */
async function addWhereServed(nav, { key, href, needs }, current) {
  try {
    await get(needs);
    nav.append(link(key, href, current));
  } catch {
    // Not served here: no link is better than a dead one.
  }
}

function lookDialog() {
  const done = make("button", { class: "main" }, say("look.close"));
  const title = make("h2", { id: "look-title" }, say("look.title"));
  const form = make("form", { method: "dialog" }, title,
    choice("unit", ["site", "C", "F"]), choice("theme", ["system", "light", "dark"]), done);
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
