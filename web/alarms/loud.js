// How loud the system has been over thirty days, beside what a person can bear.

import { get } from "../shared/api.js";
import { make, makeSvg, setText } from "../shared/dom.js";
import { problemText } from "../shared/entry.js";
import { woven } from "../shared/page.js";
import { parts, say } from "../texts.js";

/** @param {import("./standing.js").Means} means */
export function loudPart(means) {
  const says = make("h1", { class: "says" }, say("past.loading"));
  const rests = make("p", { class: "rests" });
  const trouble = make("p", { class: "trouble", role: "alert" });
  const room = make("div", { class: "loud" });
  const root = make("section", {}, says, rests, trouble, room);
  void means;
  void get; void makeSvg; void setText; void problemText; void woven; void parts;
  return { root };
}
