// The texts of the sign-in page.

import { learn } from "../texts.js";

learn({
  "door.title": "Sign in",
  "door.says": "*Who is at the door?*",
  "door.rests": "This house shows nothing to strangers. On the machine Wormtub runs on, no sign-in is needed.",
  "door.name": "Name",
  "door.passphrase": "Passphrase",
  "door.show": "Show what I type",
  "door.press": "Come in",
  "door.silent": "The service does not answer. What you typed is still here; try again.",
  "door.phone.says": "This link *adds this phone* to the house.",
  "door.phone.rests": "It works once. From then on this browser comes in by itself, until it is signed out.",
  "door.phone.press": "Add this phone",
  "door.phone.used": "Sign in with a name and a passphrase instead, or ask for a new link.",
  "door.help": "No name or passphrase yet?",
  "door.help.owner": "Whoever owns the house adds you on the page People, or shows a code there for this phone’s camera.",
  "door.help.machine": "On the machine itself: wormtub people add NAME --role own",
  "door.help.authority": "Does the browser doubt this address? The house has a certificate of its own; this phone can be told to trust it. Compare its fingerprint with the one that wormtub certificate prints on the machine.",
  "door.authority": "Fetch the house’s certificate",
});
