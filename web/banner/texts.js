// The texts of the banner, kept with those of the pages.

import { learn } from "../texts.js";

learn({
  "alarm.label": "Alarm",
  "alarm.priority.high": "High",
  "alarm.priority.medium": "Medium",
  "alarm.priority.low": "Low",
  "alarm.at": "{place} of {vessel}",
  "alarm.number": "*{value}*, limit {limit}",
  "alarm.number.only": "*{value}*",
  "alarm.since": "since {time}",
  "alarm.over": "Over since {time}; say that you have seen it.",
  "alarm.known": "seen by {who}",
  "alarm.known.plain": "seen",
  "alarm.acknowledge": "I have seen it",
  "alarm.note": "With a note",
  "alarm.note.label": "Note, kept with it",
  "alarm.all": "All alarms",
  "alarm.more.one": "and one more",
  "alarm.more": "and {count} more",
  "alarm.simulated": "Simulated: {title}",
  "alarm.title": "{priority}: {name} · ",
  "alarm.spoken": "{priority} alarm. {name}. {action}",
  "alarm.silent": "The service does not answer, so it does not know that you have seen it; try again.",
  "alarm.unknown": "What calls now is not known: the service has not answered since {time}. This page tries again by itself.",

  "alarm.sound.off": "No sound: it is off in this browser. The bell lets it sound.",
  "alarm.sound.waits": "No sound yet: the browser wants a press on the page first.",
  "alarm.sound.none": "No sound: this browser has none to give.",
  "alarm.bell.on": "Alarm sound is on. Switch it off",
  "alarm.bell.off": "Alarm sound is off. Switch it on",
  "alarm.bell.waits": "Alarm sound waits for a press. Let it sound",
  "alarm.bell.none": "This browser cannot sound",
});
