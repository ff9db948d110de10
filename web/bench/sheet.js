// One calculation as a sheet: its question, its answer, what is given, the curve, the numbers.
// Nothing is worked out here: what is given goes to the service, what it says is shown.

import { get, Refusal, send } from "../shared/api.js";
import { make, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { compose } from "./address.js";
import { mountSays, showCautions, showRows, showSource } from "./answer.js";
import { mountCurve } from "./curve.js";
import { exampleOf, makeForm } from "./form.js";
import { offerPressure } from "./pressure.js";

const RETRY_MS = 3000;

/** @typedef {import("./address.js").Place} Place */

/**
 * @param {HTMLElement} root
 * @param {{library: () => Promise<Plotly | null>, units: () => Units, setUnits: (units: Units) => void, address: (hash: string) => void}} page
 */
export function mountSheet(root, page) {
  const subject = make("p", { class: "subject" });
  const question = make("h1", { tabindex: -1 });
  const notice = make("p", { class: "notice", role: "status", hidden: true });
  const slip = make("button", { type: "button", class: "slip", hidden: true, tabindex: -1, "aria-hidden": "true" });
  const saying = make("section", { class: "saying", "aria-label": say("says.label") });
  const cautions = make("section", { class: "cautions", id: "cautions" });
  const curveRoot = make("section", { class: "curve" });
  const numbers = make("section", { class: "in-numbers" });
  const source = make("section", { class: "source" });
  const units = unitSwitch(page);
  const place = make("div", { class: "form-place" });
  const again = make("button", { type: "button", class: "quiet" }, say("given.again"));
  const share = make("button", { type: "button", class: "quiet" }, say("given.share"));
  const shared = make("p", { class: "shared", hidden: true });
  const given = make("section", { class: "giving", "aria-label": say("given.title") },
    make("div", { class: "giving-head" }, make("h2", {}, say("given.title")), units.root), place, make("div", { class: "after" }, again, share), shared);
  root.append(make("header", {}, subject, question, notice), saying, given, cautions, curveRoot, numbers, source, slip);
  const says = mountSays(saying, slip);
  const curve = mountCurve(curveRoot, page.library);

  /** @type {{declaration: Declaration, form: ReturnType<typeof makeForm>} | null} */
  let open = null;
  let asking = new AbortController();
  let retry = 0;
  /** @type {(() => void) | null} */
  let reshow = null;

  const work = async () => {
    if (!open) return;
    const { declaration, form } = open;
    asking.abort();
    clearTimeout(retry);
    asking = new AbortController();
    const { signal } = asking;
    const held = form.read();
    form.clear();
    shared.hidden = true;
    page.address(compose(declaration.name, held.values));
    for (const [name, sentence] of held.problems) form.refuse(name, sentence);
    const [stuck] = [...held.problems.keys()];
    if (stuck !== undefined) return nothing(say("says.refused", { label: labelOf(declaration, stuck) }));
    const [wanted] = held.wanted;
    for (const item of held.wanted) form.refuse(item.name, say("given.wanted"));
    if (wanted) return nothing(say("says.wanted", { label: lower(wanted.label) }));
    const quantities = Object.fromEntries(held.values);
    const path = `calculations/${declaration.name}`;
    saying.setAttribute("aria-busy", "true");
    try {
      const [answer, points] = await Promise.all([
        /** @type {Promise<Answer>} */ (send("POST", path, {}, { quantities, units: page.units() }, signal)),
        declaration.curve ? /** @type {Promise<CurvePoints | null>} */ (send("POST", `${path}/curve`, {}, { quantities }, signal).catch(noCurve)) : null,
      ]);
      if (!signal.aborted) done(declaration, held.values, answer, points);
    } catch (error) {
      if (!signal.aborted) failed(declaration, error);
    } finally {
      if (!signal.aborted) saying.removeAttribute("aria-busy");
    }
  };

  /** @param {Declaration} declaration @param {Map<string, Given>} values @param {Answer} answer @param {CurvePoints | null} points */
  const done = (declaration, values, answer, points) => {
    says.answer(declaration, answer);
    showRows(numbers, declaration, answer);
    root.dataset.answered = declaration.name;
    reshow = () => {
      curve.show(points ? { declaration, columns: points.columns, units: page.units(), ...hereOn(declaration, values, answer) } : null);
    };
    reshow();
  };

  /** @param {string} sentence */
  const nothing = (sentence) => {
    delete root.dataset.answered;
    says.instead(sentence);
    numbers.hidden = true;
    reshow = null;
    curve.show(null);
    saying.removeAttribute("aria-busy");
  };

  /** @param {Declaration} declaration @param {unknown} error */
  const failed = (declaration, error) => {
    if (error instanceof Refusal) {
      const sentence = error.message.replace(` (${error.field})`, "");
      const atField = open?.form.refuse(error.field, sentence) ?? false;
      nothing(atField ? say("says.refused", { label: labelOf(declaration, error.field ?? "") }) : sentence);
      return;
    }
    nothing(say("says.silent"));
    retry = window.setTimeout(() => void work(), RETRY_MS);
  };

  root.addEventListener("settled", () => void work());
  again.addEventListener("click", () => {
    open?.form.put(exampleOf(open.declaration.takes));
    void work();
  });
  share.addEventListener("click", () => void shareAddress(shared));

  return {
    /** @param {Declaration} declaration @param {Place} at @param {string | null} problem */
    open(declaration, at, problem) {
      const form = makeForm(declaration, page.units());
      open = { declaration, form };
      delete root.dataset.answered;
      delete curveRoot.dataset.drawn;
      setText(subject, declaration.subject);
      setText(question, declaration.question);
      setText(notice, problem ?? "");
      notice.hidden = problem === null;
      place.replaceChildren(form.form);
      form.put(at.bare ? exampleOf(declaration.takes) : new Map(at.values));
      void offerPressure(form.fields, declaration.us_units, page.units());
      showCautions(cautions, declaration.cautions);
      showSource(source, declaration, page.units());
      says.mind(declaration.cautions.length);
      nothing(say("says.working"));
      void work();
    },
    close() {
      asking.abort();
      clearTimeout(retry);
      open = null;
      slip.hidden = true;
    },
    /** @param {Units} now */
    change(now) {
      units.show(now);
      if (!open) return;
      open.form.change(now);
      void offerPressure(open.form.fields, open.declaration.us_units, now);
      showSource(source, open.declaration, now);
      void work();
    },
    paint: () => curve.paint(),
    focus: () => question.focus({ preventScroll: true }),
  };
}

/** The answer stands without its curve. @param {unknown} error @returns {null} */
function noCurve(error) {
  if (error instanceof Refusal) return null;
  throw error;
}

/** Where on the curve the answer stands. @param {Declaration} declaration @param {Map<string, Given>} values @param {Answer} answer */
function hereOn({ curve, takes }, values, answer) {
  const number = (/** @type {unknown} */ value) => (typeof value === "number" ? value : null);
  const x = curve?.x ?? "";
  const taken = takes.find(({ name }) => name === x);
  const here = taken ? number(values.get(x) ?? taken.default) : number(answer.values[x]);
  const marks = Object.fromEntries([...(curve?.lines ?? []), ...(curve?.band ?? [])].map((name) => [name, number(answer.values[name])]));
  return { here, marks };
}

/** @param {Declaration} declaration @param {string} name */
function labelOf({ takes }, name) {
  return takes.find((item) => item.name === name)?.label ?? name;
}

/** @param {string} label */
function lower(label) {
  return /^[A-Z][a-z]/.test(label) ? label.charAt(0).toLowerCase() + label.slice(1) : label;
}

/** @param {{units: () => Units, setUnits: (units: Units) => void}} page */
function unitSwitch({ units, setUnits }) {
  const root = make("fieldset", { class: "choices units" }, make("legend", { class: "unseen" }, say("given.units")));
  const inputs = /** @type {const} */ (["metric", "us"]).map((value) => {
    const input = make("input", { type: "radio", name: "units", value });
    input.checked = units() === value;
    input.addEventListener("change", () => setUnits(value));
    root.append(make("label", {}, input, make("span", {}, say(`given.${value}`))));
    return input;
  });
  return {
    root,
    /** @param {Units} now */
    show(now) {
      for (const input of inputs) input.checked = input.value === now;
    },
  };
}

/** @param {HTMLElement} root */
async function shareAddress(root) {
  const address = make("input", { type: "text", readonly: true, value: location.href, "aria-label": say("given.share") });
  const note = make("span", {}, say("given.copy"));
  root.replaceChildren(address, note);
  root.hidden = false;
  address.select();
  try {
    await navigator.clipboard.writeText(location.href);
    setText(note, say("given.copied"));
  } catch {
    // Not allowed, or not there without https: it stands selected, ready to copy by hand.
  }
}

/** @param {string} name @returns {Promise<Declaration>} */
export function declarationOf(name) {
  return get(`calculations/${encodeURIComponent(name)}`);
}
