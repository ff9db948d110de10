// Every text of the pages, by key, so that they can be put into another language in one place.
// {name} is replaced; what stands between *asterisks* is set bold.

export const LOCALE = "en-GB";

/** @type {Record<string, string>} */
const TEXTS = {
  "app.name": "Wormtub",
  "page.now": "Now",
  "page.bench": "Bench",
  "page.alarms": "Alarms",
  "page.probes": "Probes",
  "page.vessels": "Vessels",
  "page.batches": "Batches",
  "page.runs": "Runs",
  "page.cellar": "Cellar",
  "page.people": "People",
  "nav.label": "Pages",
  "nav.skip": "Skip to the page’s content",

  "banner.missing": "Alarms are not shown on this page: part of it did not load.",

  "look.open": "Display",
  "look.health": "How the house does",
  "look.people": "People and sign-in",
  "look.guide": "Set up this house, step by step",
  "look.title": "How this browser shows things",
  "look.unit": "Temperatures",
  "look.unit.site": "As the site: {unit}",
  "look.unit.C": "Celsius, °C",
  "look.unit.F": "Fahrenheit, °F",
  "look.theme": "Light",
  "look.theme.system": "As the system",
  "look.theme.light": "Paper, for the day",
  "look.theme.dark": "Warm dark, for the night",
  "look.close": "Done",

  "lead.guide": "Set up this house",

  "simulated.flag": "Simulated",
  "simulated.long": "Simulated: these temperatures are made up, no still is being read.",
  "title.simulated": "simulated",

  "behind.faint": "Faint behind:",
  "behind.run": "{batch}, {day}",
  "behind.by.first_drop": "first drop on first drop",
  "behind.by.heat_on": "heat on upon heat on",
  "behind.by.begin": "begin upon begin",

  "status.good": "{good} of {all} probes good",
  "status.allgood": "all {all} probes good",
  "status.onegood": "the probe is good",
  "status.none": "no probes",
  "status.pressure.barometer": "{pressure} hPa",
  "status.pressure.entered": "{pressure} hPa, entered by hand",
  "status.pressure.altitude": "about {pressure} hPa, from the altitude",
  "status.pressure.sea": "about {pressure} hPa, if at sea level",
  "status.loading": "asking the service…",

  "name.joined": "{place} of {vessel}",
  "name.probe": "probe {id}",

  "say.hottest.one": "The *{name}* is at *{value} {unit}*{motion}.",
  "say.hottest": "The *{name}* is the hottest at *{value} {unit}*{motion}.",
  "say.motion.rising": ", rising *{rate} {unit}* a minute",
  "say.motion.falling": ", falling *{rate} {unit}* a minute",
  "say.motion.steady": ", steady",
  "say.since": " since *{time}*",
  "say.forover": " for over *{age}*",
  "say.rising": "The *{name}* is rising *{rate} {unit}* a minute{since}.",
  "say.falling": "The *{name}* is falling *{rate} {unit}* a minute{since}.",
  "say.more.one": "One more is moving.",
  "say.more": "*{count}* more are moving.",
  "say.rest.one": "The {name} is steady.",
  "say.rest.two": "The {first} and {second} are steady.",
  "say.rest": "The other *{count}* are steady.",
  "say.rest.all": "Nothing else is moving.",
  "say.bad.one": "The *{name}* gives *no good reading*.",
  "say.bad": "*{count} of {all}* give *no good reading*.",
  "say.bad.all": "*No probe gives a good reading*{since}.",
  "say.bad.only": "The *{name}* gives *no good reading*{since}.",
  "say.nothing": "Nothing has been read yet.",
  "say.noprobes": "*{count} places* are named, and no probe reads any of them yet.",
  "say.noprobes.one": "The *{name}* is named, and no probe reads it yet.",
  "say.silent": "*No new reading* since *{time}*, for *{age}*.",
  "say.lost": "*The service has not answered* since *{time}*, for *{age}*.",
  "say.loading": "Reading the sheet…",

  "rests.readings": "From {good} read {period}{pressure}. Steady is less than {limit} {unit} a minute, over {minutes} minutes.",
  "rests.probes": "{count} good probes",
  "rests.probe": "one good probe",
  "rests.period.one": "every second",
  "rests.period": "every {seconds} seconds",
  "rests.pressure": ", at {pressure} hPa",
  "rests.unplaced": "Probes without a place are listed by their id; give each a place and it goes by that name.",
  "rests.nothing": "The first reading shows here by itself. If none comes: see that the logger runs and that a probe is plugged in.",
  "rests.noprobes": "See that the probes are plugged in and that each is given its place.",
  "rests.silent": "What the probes read now is not known. See that the logger runs; the last readings stand beside each name.",
  "rests.allbad": "What the probes read now is not known. The last good readings stand beside each name.",
  "rests.lost": "What the probes read now is not known. This page tries again by itself; if it does not come back, see that the machine is on and the service runs.",
  "rests.loading": "The numbers come as soon as the service answers.",

  "trouble.label": "What to check",
  "trouble.one": "*{names}*{since}: {reason}. {todo}",
  "trouble.since": " since {time}",
  "trouble.never": ", never read",
  "trouble.many": "{count} places",

  "grade.power_on": "restarted",
  "grade.low_supply": "supply too low",
  "grade.bus_low": "line shorted",
  "grade.crc": "garbled",
  "grade.empty": "no answer",
  "grade.torn": "unreadable",
  "grade.gone": "unplugged",
  "grade.timed_out": "too slow",
  "grade.out_of_range": "impossible",
  "grade.none": "no probe",
  "grade.unread": "not read yet",
  "grade.stale": "out of date",
  "grade.other": "refused",

  "why.power_on": "it lost its supply and started again",
  "why.low_supply": "its supply sagged while it measured",
  "why.bus_low": "the data line is shorted",
  "why.crc": "what it sends arrives garbled",
  "why.empty": "it does not answer",
  "why.torn": "what it sends is not a probe’s answer",
  "why.gone": "it is no longer on the bus",
  "why.timed_out": "it takes too long to answer",
  "why.out_of_range": "it sends a temperature it cannot measure",
  "why.none": "no probe is placed here",
  "why.unread": "nothing has been read here yet",
  "why.stale": "no new reading has come",
  "why.other": "its reading was refused",

  "todo.power_on": "Check its plug and its supply wire.",
  "todo.low_supply": "Check the supply; a shorter or thicker cable helps.",
  "todo.bus_low": "Unplug the probes of this line one by one until the others come back.",
  "todo.crc": "Check its plug, the length of its cable and the pull-up resistor.",
  "todo.empty": "Check its plug and its cable.",
  "todo.torn": "Unplug it and plug it in again.",
  "todo.gone": "Plug it in again; it is read again by itself.",
  "todo.timed_out": "Check its plug; unplug it if the others are slow as well.",
  "todo.out_of_range": "Replace it; it is damaged or of another kind.",
  "todo.none": "Give this place a probe.",
  "todo.unread": "Check that the logger runs.",
  "todo.stale": "Check that the logger runs.",
  "todo.other": "Check its plug and its cable.",

  "age.now": "just now",
  "age.seconds": "{count} s",
  "age.minutes": "{count} min",
  "age.hours": "{count} h",
  "age.days": "{count} d",
  "age.ago": "{age} ago",

  "label.trend": "{slope}/min",
  "label.notrend": "–/min",
  "label.last": "last {value}",
  "label.lastat": "at {time}",
  "label.never": "never read",
  "label.nonumber": "no number,",
  "label.none": "Each probe’s line and number will stand here.",

  "sheet.label": "Temperatures over time",
  "sheet.chart": "Chart of {count} temperatures from {from} to {to}.",
  "sheet.keys": "Arrow keys move through time, plus and minus zoom, Home goes to the start of the record shown, End follows what is new.",
  "sheet.role": "chart",
  "sheet.gap": "no good reading",
  "sheet.gapfor": "no good reading for {age}",
  "sheet.empty": "No good reading in this time.",
  "sheet.loading": "drawing…",
  "sheet.problem": "The history does not load: {sentence} What is shown is from before.",
  "sheet.noanswer": "The history does not load, the service does not answer. What is shown is from before.",
  "sheet.noplot": "The chart could not be loaded; the table shows the same readings. Load the page again to try once more.",
  "sheet.past": "The sheet shows {from} to {to}. The sentence above and the numbers beside the sheet are from now.",

  "range.label": "Time shown",
  "range.10min": "10 min",
  "range.1h": "1 h",
  "range.6h": "6 h",
  "range.24h": "24 h",
  "range.7d": "7 d",
  "range.30d": "30 d",
  "range.1y": "1 y",
  "range.spoken": "The last {range}",
  "zoom.in": "Show less time",
  "zoom.out": "Show more time",
  "move.earlier": "Earlier",
  "move.later": "Later",
  "follow.now": "Back to now",
  "follow.following": "Following",
  "vessel.label": "Vessel shown",
  "vessel.all": "All",
  "vessel.none": "Elsewhere",

  "form.table": "Table",
  "form.chart": "Chart",
  "form.csv": "Save as CSV",
  "table.caption": "Lowest and highest {unit} in each stretch of {step}, {from} to {to}, newest first. Times are those of {zone}.",
  "table.months": "{count} mo",
  "table.time": "From",
  "table.none": "none",
  "table.between": "{low} to {high}",
  "table.empty": "No good reading in this time.",

  "link.lost": "No answer from the service since {time}. Trying again by itself.",
  "link.back": "The service answers again.",
  "link.updated": "The service was updated. Load the page again to use the new one.",
  "link.reload": "Load again",

  "title.value": "{value} {unit} {name}",
  "title.bad": "! {name}: {reason}",
  "title.bads": "! {count} without reading",
  "title.silent": "! no new readings",
  "title.lost": "! no answer",
  "title.nothing": "nothing read yet",
};

/** @typedef {Record<string, string | number>} Words */
/** @typedef {{text: string, strong: boolean}} Part */

/**
 * Return a text with its words put in.
 * @param {string} key
 * @param {Words} [words]
 */
export function say(key, words = {}) {
  return fill(template(key), words).replaceAll("*", "");
}

/**
 * Return a text in parts, bold and plain. A word that is itself a list of parts keeps them.
 * @param {string} key
 * @param {Record<string, string | number | readonly Part[]>} [words]
 * @returns {Part[]}
 */
export function parts(key, words = {}) {
  return template(key)
    .split("*")
    .flatMap((piece, index) => woven(piece, index % 2 === 1, words))
    .filter((part) => part.text !== "");
}

/**
 * Keep the texts of a page beside those all pages share.
 * @param {Record<string, string>} more
 */
export function learn(more) {
  Object.assign(TEXTS, more);
}

/** @param {string} key */
export function has(key) {
  return Object.hasOwn(TEXTS, key);
}

/** @param {string} key */
function template(key) {
  const text = TEXTS[key];
  if (text === undefined) throw new Error(`no text is kept under "${key}"`);
  return text;
}

/**
 * @param {string} text
 * @param {Words} words
 */
function fill(text, words) {
  return text.replace(/\{(\w+)\}/g, (_, name) => String(words[name] ?? ""));
}

/**
 * @param {string} piece
 * @param {boolean} strong
 * @param {Record<string, string | number | readonly Part[]>} words
 * @returns {Part[]}
 */
function woven(piece, strong, words) {
  return piece.split(/(\{\w+\})/).flatMap((bit) => {
    const word = /^\{(\w+)\}$/.exec(bit)?.[1];
    const found = word === undefined ? bit : (words[word] ?? "");
    return typeof found === "object" ? [...found] : [{ text: String(found), strong }];
  });
}
