// The bench: the address says which calculation is open and what is given; the ask line finds
// another; the sheet shows it.

import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { find, on, tell } from "../shared/dom.js";
import { mountHeader } from "../shared/header.js";
import { followLook, look, showTheme } from "../shared/look.js";
import { say } from "../texts.js";
import { parse } from "./address.js";
import { mountAsk } from "./ask.js";
import { keep, kept, keepLately } from "./kept.js";
import { declarationOf, mountSheet } from "./sheet.js";

const RETRY_MS = 3000;

const header = find(document, "#header");
const main = find(document, "#main");
const notice = find(main, "#notice");
const sheetRoot = find(main, "#sheet");

/** @type {CalculationSummary[] | null} */
let all = null;
/** @type {Units} */
let units = kept().units ?? "metric";
/** @type {string | null} what the page itself wrote into the address */
let written = null;
let going = 0;

const sheet = mountSheet(sheetRoot, {
  library,
  units: () => units,
  setUnits: (chosen) => {
    keep({ units: chosen });
    change(chosen);
  },
  address: (hash) => {
    written = hash;
    history.replaceState(null, "", hash);
  },
});
const asking = mountAsk(find(main, "#ask"));

/** @param {Units} chosen */
function change(chosen) {
  if (chosen === units) return;
  units = chosen;
  sheet.change(units);
}

/** Show what the address names. @param {boolean} moved by a link or a step back, rather than at the start */
async function go(moved) {
  const at = parse(location.hash);
  const mine = (going += 1);
  if (!at || !all) return index(null);
  const known = all.find(({ name }) => name === at.name);
  if (!known) return index(say("address.unknown", { name: at.name }));
  try {
    const declaration = await declarationOf(at.name);
    if (mine !== going) return;
    const stranger = [...at.values.keys()].find((key) => !declaration.takes.some(({ name }) => name === key));
    notice.hidden = true;
    sheetRoot.hidden = false;
    main.classList.add("opened");
    keepLately(at.name);
    asking.clear();
    asking.show({ all, lately: kept().lately, open: true });
    document.title = `${declaration.question} \u00b7 ${say("app.name")}`;
    sheet.open(declaration, at, stranger === undefined ? null : say("address.key", { key: stranger }));
    if (moved) {
      scrollTo(0, 0);
      sheet.focus();
    }
  } catch (error) {
    if (mine !== going) return;
    index(error instanceof Refusal ? error.message : say("ask.silent"));
    if (!(error instanceof Refusal)) setTimeout(() => mine === going && void go(moved), RETRY_MS);
  }
}

/** Show the questions. @param {string | null} problem */
function index(problem) {
  sheet.close();
  sheetRoot.hidden = true;
  main.classList.remove("opened");
  notice.textContent = problem ?? "";
  notice.hidden = problem === null;
  document.title = `${say("bench.title")} \u00b7 ${say("app.name")}`;
  asking.show({ all: all ?? [], lately: kept().lately, open: false });
}

async function load() {
  try {
    all = await get("calculations");
    notice.hidden = true;
    await go(false);
  } catch {
    index(say("ask.silent"));
    setTimeout(() => void load(), RETRY_MS);
  }
}

/** Until units have been chosen here, they go by how temperatures are shown. */
async function firstUnits() {
  try {
    /** @type {Site} */
    const site = await get("site");
    tell([header], "site", site);
    const unit = look().unit === "site" ? site.temperature_unit : look().unit;
    if (kept().units === null) change(unit === "F" ? "us" : "metric");
  } catch {
    // Metric, until they are chosen.
  }
}

/** @type {Promise<Plotly | null> | null} */
let fetched = null;

/** plotly.js, fetched when the first curve wants it. */
function library() {
  fetched ??= new Promise((resolve) => {
    const script = document.createElement("script");
    script.src = new URL("../vendor/plotly-basic.min.js", import.meta.url).href;
    script.addEventListener("load", () => resolve(window.Plotly ?? null));
    script.addEventListener("error", () => resolve(null));
    document.head.append(script);
  });
  return fetched;
}

followLook();
mountHeader(header, "bench");
header.querySelector(".skip")?.addEventListener("click", (event) => {
  event.preventDefault(); // the address belongs to the answer
  main.focus();
});
on(main, "searching", (/** @type {boolean} */ searching) => main.classList.toggle("searching", searching));
addEventListener("hashchange", () => {
  if (location.hash !== written) void go(true);
});
document.addEventListener("keydown", (event) => {
  const typing = event.target instanceof HTMLElement && event.target.matches("input, select, textarea");
  if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  asking.input.focus();
});
document.addEventListener("look", () => sheet.paint());
addEventListener("beforeprint", () => {
  document.documentElement.classList.add("printing");
  for (const details of sheetRoot.querySelectorAll("details")) details.open = true;
  showTheme("light"); // and with it the curve, at the paper's width
});
addEventListener("afterprint", () => {
  document.documentElement.classList.remove("printing");
  showTheme(null);
});

void firstUnits();
void load();
