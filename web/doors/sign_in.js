// The sign-in: by name and passphrase, or by the link of a phone. Leads back to the page one came for.

import "./texts.js";
import { apiUrl, get, Refusal, send } from "../shared/api.js";
import { find, make, setText } from "../shared/dom.js";
import { say, parts } from "../texts.js";

const ROOT = new URL("../", import.meta.url);
const main = find(document, "#main");
const key = location.hash.slice(1);

const trouble = make("p", { class: "trouble", role: "alert", hidden: true });
const says = make("h1", { class: "says", tabindex: -1 });
const rests = make("p", { class: "rests" });

/** The page asked for, where it is one of this house; else the first. */
function wanted() {
  const to = new URLSearchParams(location.search).get("to") ?? "";
  const page = URL.canParse(to, ROOT) ? new URL(to, ROOT) : ROOT;
  const ours = page.origin === ROOT.origin && page.pathname.startsWith(ROOT.pathname) && !page.pathname.endsWith("/doors.html");
  return ours ? page : ROOT;
}

/** @param {unknown} error */
function complain(error) {
  setText(trouble, error instanceof Refusal ? error.message : say("door.silent"));
  trouble.hidden = false;
}

/** Do what lets somebody in, then go where they wanted. @param {HTMLButtonElement} press @param {() => Promise<unknown>} act */
async function comeIn(press, act) {
  press.disabled = true;
  trouble.hidden = true;
  try {
    await act();
    location.replace(wanted());
    return null;
  } catch (error) {
    complain(error);
    press.disabled = false;
    return error;
  }
}

/** @param {string} name @param {Record<string, string>} attributes */
function field(name, attributes) {
  const input = make("input", { id: `door-${name}`, name, required: true, ...attributes });
  return { input, row: make("div", { class: "row" }, make("label", { for: input.id }, say(`door.${name}`)), input) };
}

function byName() {
  const name = field("name", { autocomplete: "username", autocapitalize: "words", spellcheck: "false", maxlength: "60" });
  const passphrase = field("passphrase", { type: "password", autocomplete: "current-password", maxlength: "200" });
  const show = make("input", { type: "checkbox", id: "door-show" });
  show.addEventListener("change", () => (passphrase.input.type = show.checked ? "text" : "password"));
  const press = make("button", { class: "main" }, say("door.press"));
  const tick = make("label", { class: "tick", for: "door-show" }, show, say("door.show"));
  const form = make("form", { class: "entry" }, name.row, passphrase.row, tick, trouble, make("div", { class: "presses" }, press));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = { name: name.input.value, passphrase: passphrase.input.value };
    const failed = await comeIn(press, () => send("POST", "doors/sign-in", {}, body));
    if (failed) passphrase.input.select();
  });
  announce("door.says", "door.rests");
  return { form, first: name.input };
}

function byLink() {
  const press = make("button", { type: "button", class: "press main" }, say("door.phone.press"));
  const other = make("p", { class: "hint", hidden: true }, say("door.phone.used"));
  press.addEventListener("click", async () => {
    const failed = await comeIn(press, () => send("POST", "doors/enter", {}, { key }));
    if (failed instanceof Refusal) {
      history.replaceState(null, "", location.pathname + location.search);
      press.hidden = true;
      other.hidden = false;
      press.after(byName().form);
    }
  });
  announce("door.phone.says", "door.phone.rests");
  return { form: make("div", {}, trouble, other, press), first: press };
}

/** @param {string} saying @param {string} resting */
function announce(saying, resting) {
  says.replaceChildren(...parts(saying).map(({ text, strong }) => (strong ? make("strong", {}, text) : text)));
  setText(rests, say(resting));
}

function help() {
  const authority = make("p", {}, say("door.help.authority"), " ", make("a", { href: apiUrl("doors/authority.crt"), download: "wormtub-authority.crt" }, say("door.authority")));
  authority.hidden = location.protocol !== "https:";
  return make("details", { class: "help" }, make("summary", {}, say("door.help")),
    make("p", {}, say("door.help.owner")), make("p", {}, say("door.help.machine")), authority);
}

async function begin() {
  document.title = `${say("door.title")} · ${say("app.name")}`;
  const mark = make("img", { src: new URL("mark.svg", ROOT).href, alt: "", width: 34, height: 34 });
  const { form, first } = key ? byLink() : byName();
  main.append(make("p", { class: "brand" }, mark, make("span", {}, say("app.name"))), says, rests, form, help());
  first.focus();
  try {
    const { role } = await get("doors/me");
    if (role !== "anyone" && !key) location.replace(wanted());
  } catch (error) {
    complain(error);
  }
}

void begin();
