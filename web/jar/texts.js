// The texts of a jar's own page.

import { learn } from "../texts.js";

learn({
  "own.says": "*Jar {number}* of {batch}: *{class}*.",
  "own.says.strong": "*Jar {number}* of {batch}: *{class}*, *{abv} %* vol{volume}.",
  "own.volume": ", *{volume} L*",
  "own.none": "No jar was asked for. Open one in the cellar, or by the code on its label.",
  "own.gone": "This jar was taken back; the record keeps what was said of it.",
  "own.unknown": "No jar of this record has this code.",
  "own.label": "Print its label",
  "own.cellar": "The jars of this run",
  "own.name": "jar {number} of {batch}",
  "own.poured": "It was poured into {lot}.",
});
