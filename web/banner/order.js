// What of the alarms is shown at the top of every page, sounded and told; pure.

/** @typedef {{alarms: AlarmsNow | null, lost: boolean}} State */

/**
 * @typedef {object} Shown
 * @property {Alarm | null} top the one that takes the banner
 * @property {Alarm[]} more what else calls
 * @property {Alarm[]} known acknowledged, and still so
 * @property {AlarmPriority | null} sound the most urgent that is to be heard
 */

const URGENCY = { high: 3, medium: 2, low: 1 };

/** Nobody hides it: neither a person for a while, nor the stage, nor that it is out of service. @param {Alarm} alarm */
export function isOpen({ covers }) {
  return covers.length === 0;
}

/** It waits for somebody to say that they have seen it. @param {Alarm} alarm */
export function calls(alarm) {
  return isOpen(alarm) && (alarm.state === "unacknowledged" || alarm.state === "returned");
}

/** It is to be heard: what is over calls on, but without a sound. @param {Alarm} alarm */
export function sounds(alarm) {
  return isOpen(alarm) && alarm.state === "unacknowledged";
}

/** The condition has gone. @param {Alarm} alarm */
export function isOver({ state }) {
  return state === "returned" || state === "latched";
}

/** Seen, and still so, or kept until it is put back. @param {Alarm} alarm */
export function isKnown(alarm) {
  return isOpen(alarm) && (alarm.state === "acknowledged" || alarm.state === "latched");
}

/** Most urgent first: what calls before what is known, what stands before what is over, then the oldest. @param {readonly Alarm[]} alarms */
export function ordered(alarms) {
  const rank = (/** @type {Alarm} */ one) => (isOpen(one) ? 100 : 0) + (calls(one) ? 20 : 0) + (isOver(one) ? 0 : 10) + URGENCY[one.priority];
  const time = (/** @type {Alarm} */ { since }) => (since === null ? 0 : Date.parse(since));
  return [...alarms].sort((a, b) => rank(b) - rank(a) || time(a) - time(b));
}

/** @param {readonly Alarm[]} alarms @returns {Shown} */
export function shown(alarms) {
  const all = ordered(alarms).filter(isOpen);
  const [top = null, ...more] = all.filter(calls);
  return { top, more, known: all.filter(isKnown), sound: mostUrgent(all.filter(sounds)) };
}

/** @param {readonly Alarm[]} alarms @returns {AlarmPriority | null} */
export function mostUrgent(alarms) {
  const [first] = [...alarms].sort((a, b) => URGENCY[b.priority] - URGENCY[a.priority]);
  return first?.priority ?? null;
}

/**
 * What calls now and did not before: the reason for a notification. An alarm that came back, or
 * got worse, calls anew.
 * @param {readonly Alarm[]} before
 * @param {readonly Alarm[]} after
 */
export function newlyCalling(before, after) {
  const known = new Map(before.filter(calls).map((one) => [one.key, one]));
  return ordered(after).filter((one) => {
    if (!sounds(one)) return false;
    const old = known.get(one.key);
    return !old || isOver(old) || URGENCY[one.priority] > URGENCY[old.priority];
  });
}

/** Called before and does so no longer: its notification is taken away. @param {readonly Alarm[]} before @param {readonly Alarm[]} after */
export function nowQuiet(before, after) {
  const still = new Set(after.filter(calls).map(({ key }) => key));
  return before.filter((one) => calls(one) && !still.has(one.key)).map(({ key }) => key);
}
