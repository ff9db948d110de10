// What the pages of the house begin with: the header, the site, and going on when nothing answers.

import { say } from "../texts.js";
import { get, Refusal, Silence } from "./api.js";
import { find, make, setText, tell } from "./dom.js";
import { mountHeader } from "./header.js";
import { followLook, look } from "./look.js";

const RETRY_MS = 3000;

/** What every part of such a page goes by. @typedef {{site: SiteRecord, zone: string, unit: "C" | "F"}} Ground */

/**
 * Load a page and show it, again whenever asked; while the service is silent, try again by itself.
 * @template T
 * @param {string} key of the page
 * @param {() => Promise<T>} load
 * @param {(loaded: T, ground: Ground) => void} show
 */
export function startPage(key, load, show) {
  const header = find(document, "#header");
  const notice = make("p", { class: "notice", role: "status", hidden: true });
  find(document, "#main").prepend(notice);
  let asked = 0;
  /** @type {{loaded: T, site: SiteRecord} | null} */
  let last = null;

  function draw() {
    if (last) show(last.loaded, { site: last.site, zone: last.site.time_zone, unit: unitFor(last.site) });
  }

  async function refresh() {
    const mine = (asked += 1);
    try {
      const [site, loaded] = await Promise.all([/** @type {Promise<SiteRecord>} */ (get("site")), load()]);
      if (mine !== asked) return;
      last = { loaded, site };
      notice.hidden = true;
      tell([header], "site", site);
      draw();
    } catch (error) {
      if (mine !== asked) return;
      const answered = !(error instanceof Silence || error instanceof Refusal);
      console.info("the page does not load; trying again", error);
      setText(notice, say(answered ? "entry.broken" : "entry.waiting"));
      notice.hidden = false;
      setTimeout(() => mine === asked && void refresh(), RETRY_MS);
    }
  }

  followLook();
  mountHeader(header, key);
  document.addEventListener("look", draw);
  void refresh();
  return refresh;
}

/** @param {Site} site @returns {"C" | "F"} */
function unitFor(site) {
  const chosen = look().unit;
  return chosen === "site" ? site.temperature_unit : chosen;
}

/** A text in parts, as nodes. @param {readonly import("../texts.js").Part[]} parts */
export function woven(parts) {
  return parts.map(({ text, strong }) => (strong ? make("strong", {}, text) : text));
}
