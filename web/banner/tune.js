// What each priority sounds like: notes of an even, plain tone, told apart by number and pace, not
// by pitch alone. Pure; the times are seconds from the beginning.

/** @typedef {{at_s: number, for_s: number, hz: number}} Note */

const SHORT_S = 0.14;
const LONG_S = 0.4;

/** @type {Record<AlarmPriority, {notes: Note[], every_s: number}>} */
export const TUNES = {
  // Three and two, and again soon: a hand is wanted within minutes.
  high: {
    notes: [0, 0.24, 0.48, 1, 1.24].map((at_s, index) => ({ at_s, for_s: SHORT_S, hz: index < 3 ? 880 : 1174.66 })),
    every_s: 4,
  },
  medium: { notes: [{ at_s: 0, for_s: LONG_S, hz: 659.26 }, { at_s: 0.5, for_s: LONG_S, hz: 659.26 }], every_s: 20 },
  low: { notes: [{ at_s: 0, for_s: LONG_S, hz: 523.25 }], every_s: 120 },
};
