// The texts of forms, kept with those of the pages.

import { learn } from "../texts.js";

learn({
  "entry.cancel": "Leave it",
  "entry.more": "More about it",
  "entry.save": "Save",
  "entry.remove": "Take it back",
  "entry.from": "From when",
  "entry.now": "Empty: from now on.",
  "entry.silent": "The service does not answer. What you entered is kept here; try again.",
  "entry.broken": "This page cannot show what the service answered. It tries again by itself; what you entered is kept.",
  "entry.waiting": "The service does not answer. This page tries again by itself.",
  "entry.comma": "“{text}” can be read two ways; write the decimals after a point, and thousands without a comma.",
  "finder.find": "Find and sort",
  "finder.text": "Words",
  "finder.sort": "Sorted by",
  "finder.order": "Order",
  "finder.falling": "highest or newest first",
  "finder.rising": "lowest or oldest first",
  "finder.clear": "Show all",
  "finder.any": "any",
});
