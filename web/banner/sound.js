// The alarm's sound in this browser. Browsers want a press on the page before it may sound; until
// then, and where it is switched off, the page says so.

import { TUNES } from "./tune.js";

/** on: it sounds. waits: wanted, but the browser asks for a press first. off: not wanted. none: the browser cannot. @typedef {"on" | "waits" | "off" | "none"} Hearing */

const KEY = "wormtub.sound";
const LOUDNESS = 0.35;
const FADE_S = 0.012; // without it each note begins and ends with a click

/** @type {AudioContext | null} */
let context = null;
/** @type {AlarmPriority | null} */
let sounding = null;
let timer = 0;
let wanted = read();

/** @returns {Hearing} */
export function hearing() {
  if (typeof AudioContext === "undefined") return "none";
  if (!wanted) return "off";
  return context?.state === "running" ? "on" : "waits";
}

/** Switch it on, from a press; it plays its mildest note, so that one knows. */
export async function soundOn() {
  keep(true);
  await wake();
  if (sounding === null) play("low");
  changed();
}

export function soundOff() {
  keep(false);
  clearTimeout(timer);
  timer = 0;
  void context?.suspend();
  changed();
}

/** Sound for a priority until told otherwise; null is silence. @param {AlarmPriority | null} priority */
export function soundFor(priority) {
  if (priority === sounding) return;
  sounding = priority;
  again();
}

/** Where it was wanted before, the first press anywhere on the page is enough. */
export function followPresses() {
  if (wanted) void wake();
  for (const press of ["pointerdown", "keydown"]) addEventListener(press, () => wanted && context?.state !== "running" && void wake(), { passive: true });
}

async function wake() {
  if (typeof AudioContext === "undefined") return;
  context ??= withNews(new AudioContext());
  try {
    await context.resume();
  } catch (error) {
    console.info("the browser does not let the page sound yet", error);
  }
}

/** @param {AudioContext} made */
function withNews(made) {
  made.addEventListener("statechange", () => {
    changed();
    again();
  });
  return made;
}

/** Play now, and again at the priority's pace. */
function again() {
  clearTimeout(timer);
  if (sounding === null || hearing() !== "on") return;
  play(sounding);
  timer = window.setTimeout(again, TUNES[sounding].every_s * 1000);
}

/** Once, to be known by. @param {AlarmPriority} priority */
export function tryTune(priority) {
  play(priority);
}

/** @param {AlarmPriority} priority */
function play(priority) {
  if (context?.state !== "running") return;
  const start = context.currentTime + 0.02;
  for (const { at_s, for_s, hz } of TUNES[priority].notes) {
    const [tone, volume] = [context.createOscillator(), context.createGain()];
    const [from, to] = [start + at_s, start + at_s + for_s];
    tone.type = "triangle";
    tone.frequency.value = hz;
    volume.gain.setValueAtTime(0, from);
    volume.gain.linearRampToValueAtTime(LOUDNESS, from + FADE_S);
    volume.gain.setValueAtTime(LOUDNESS, to - FADE_S);
    volume.gain.linearRampToValueAtTime(0, to);
    tone.connect(volume).connect(context.destination);
    tone.start(from);
    tone.stop(to);
  }
  document.dispatchEvent(new CustomEvent("sounded", { detail: priority }));
}

function changed() {
  document.dispatchEvent(new CustomEvent("hearing"));
}

/** @param {boolean} on */
function keep(on) {
  wanted = on;
  try {
    localStorage.setItem(KEY, on ? "on" : "off");
  } catch {
    // Storage is shut: the choice lasts until the page is left.
  }
}

function read() {
  try {
    return localStorage.getItem(KEY) === "on";
  } catch {
    return false;
  }
}
