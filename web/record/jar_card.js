// One jar opened: which class it is of, by letter and pattern, what it smells and tastes of, and
// what was read of it.

import { saidTime } from "../shared/clock.js";
import { make, setAttributes, setText } from "../shared/dom.js";
import { makeEntry, pressFor } from "../shared/entry.js";
import { say } from "../texts.js";
import { CUTS, cutOf, LETTERS } from "./run.js";
import { changeJar } from "./wishes.js";
import { merged, remember, split, words } from "./words.js";

const TASTED = /** @type {const} */ (["smell", "text"]);
const READ = /** @type {const} */ (["volume_l", "mass_kg", "reading_abv", "temperature_c", "number"]);

/**
 * The card stays while its jar changes, and with it what is being typed; a form whose own fields
 * another changed goes on from the version it was opened at, so that it is told.
 * @param {object} given
 * @param {JarRecord} given.jar
 * @param {RunRecord} given.run
 * @param {string} given.zone
 * @param {import("./keeper.js").Keeper} given.keeper
 * @param {boolean} [given.apart] it has the page to itself
 */
export function makeJarCard({ jar, run, zone, keeper, apart = false }) {
  const said = say("jar.measured", { number: jar.number });
  let [now, tastedOf, readOf] = [jar, jar, jar];
  const classes = make("div", { class: "classes", role: "group", "aria-label": say("jar.class") }, ...CUTS.map((each) => {
    const button = pressFor("", () => void keeper.enter(changeJar(now, { cut: each }, say("jar.classed", { number: jar.number, class: say(`cut.${each}`) }))));
    button.append(make("span", { class: "swatch", "data-cut": each }, make("b", {}, LETTERS[each])), say(`cut.${each}`));
    return button;
  }));
  const tasted = makeEntry({
    key: `taste-${jar.id}`,
    zone,
    submit: say("jar.taste.keep"),
    plain: true,
    fields: [
      { name: "smell", label: say("mark.smell"), hint: wordsHint(run), value: jar.smell.join(", "), blank: true },
      { name: "text", label: say("mark.text"), kind: "long", value: jar.text, blank: true },
    ],
    act: async ({ smell, text }) => {
      const found = split(String(smell));
      remember(found);
      await keeper.submit(changeJar(tastedOf, { smell: found, text: String(text) }, said));
    },
  });
  const read = makeEntry({
    key: `read-${jar.id}`,
    zone,
    submit: say("jar.read.keep"),
    plain: true,
    fields: [
      { name: "volume_l", label: say("jar.volume"), kind: "number", unit: "L", value: jar.volume_l },
      { name: "mass_kg", label: say("jar.mass"), kind: "number", unit: "kg", value: jar.mass_kg, hint: say("jar.mass.hint") },
      ...(run.shows_strength === false ? [] : [{ name: "reading_abv", label: say("jar.reading"), kind: /** @type {const} */ ("number"), unit: "%", value: jar.reading_abv, hint: say("jar.reading.hint") }]),
      { name: "temperature_c", label: say("jar.reading.at"), kind: "number", unit: "°C", value: jar.temperature_c },
      { name: "number", label: say("jar.number"), kind: "number", value: jar.number, more: true },
    ],
    act: (values) => keeper.submit(changeJar(readOf, /** @type {Partial<JarRecord>} */ (values), said)),
  });
  const came = make("p", { class: "came" });
  /** @param {JarRecord} changed @param {RunRecord} among */
  const show = (changed, among) => {
    now = changed;
    if (alike(TASTED, tastedOf, changed)) tastedOf = changed;
    if (alike(READ, readOf, changed)) readOf = changed;
    setText(came, cameText(changed, among, zone));
    const cut = cutOf(changed, among);
    CUTS.forEach((each, index) => setAttributes(/** @type {Element} */ (classes.children[index]), { "aria-pressed": String(each === cut) }));
  };
  show(jar, run);
  const root = make("div", { class: "card" },
    came,
    classes,
    make("div", { class: "halves" }, tasted, read),
    ...(apart ? [] : [make("p", { class: "others" }, make("a", { class: "quiet", href: `jar.html?id=${jar.id}` }, say("jar.page")))]));
  return { root, id: jar.id, show };
}

/** @param {readonly (keyof JarRecord)[]} names @param {JarRecord} one @param {JarRecord} other */
function alike(names, one, other) {
  return names.every((name) => JSON.stringify(one[name]) === JSON.stringify(other[name]));
}

/** What is known of a jar, in one line. @param {JarRecord} jar @param {RunRecord} run @param {string} zone */
export function cameText(jar, run, zone) {
  const now = Date.now();
  const time = (/** @type {string} */ at) => saidTime(Date.parse(at), now, zone);
  const over = say(jar.ended_at ? "jar.came" : "jar.coming", { from: time(jar.began_at), to: jar.ended_at ? time(jar.ended_at) : "", vessel: run.vessel ?? "", batch: run.batch });
  return [over, contentText(jar), leftText(jar)].filter(Boolean).join(" ");
}

/** What is left after a part was poured. @param {JarRecord} jar */
function leftText({ left_volume_l, volume_at_20_c_l, is_gone }) {
  if (is_gone || left_volume_l == null || volume_at_20_c_l == null || volume_at_20_c_l - left_volume_l < 0.001) return "";
  return say("jar.left", { volume: left_volume_l.toFixed(2) });
}

/** @param {JarRecord} jar */
export function contentText(jar) {
  const { abv, pure_alcohol_l, abv_basis } = jar;
  const volume = jar.volume_at_20_c_l ?? jar.volume_l;
  if (volume === null || volume === undefined) return say("jar.unmeasured");
  if (abv === null || abv === undefined) return say("jar.volumeonly", { volume: volume.toFixed(2) });
  return say(`jar.content.${abv_basis ?? "read"}`, { volume: volume.toFixed(2), abv: abv.toFixed(1), alcohol: (pure_alcohol_l ?? 0).toFixed(3) });
}

/** @param {RunRecord} run */
function wordsHint({ marks, jars }) {
  const used = merged([...jars, ...marks].flatMap(({ smell }) => smell ?? []), words()).slice(0, 8);
  return [say("mark.smell.hint"), used.length > 0 ? say("jar.words", { words: used.join(", ") }) : ""].filter(Boolean).join(" ");
}
