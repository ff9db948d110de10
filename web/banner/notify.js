// Notifications of the browser itself, for when the page is not looked at. Browsers allow them
// only on a secure address: https, or the machine itself.

/** on: allowed. ask: it may be asked for. refused: this browser was told no. insecure: the address does not allow it. none: the browser has none. @typedef {"on" | "ask" | "refused" | "insecure" | "none"} Telling */

/** @type {Map<string, Notification>} */
const open = new Map();

/** @returns {Telling} */
export function telling() {
  if (!isSecureContext) return "insecure";
  if (typeof Notification === "undefined") return "none";
  if (Notification.permission === "granted") return "on";
  return Notification.permission === "denied" ? "refused" : "ask";
}

/** Ask the browser, from a press. */
export async function askToTell() {
  await Notification.requestPermission();
  document.dispatchEvent(new CustomEvent("telling"));
  return telling();
}

/**
 * Say it outside the page. Phones take notifications only from a service worker, others from the
 * page as well; the tag makes several pages of ours one notification.
 * @param {{key: string, title: string, body: string, urgent: boolean}} what
 */
export async function notify({ key, title, body, urgent }) {
  if (telling() !== "on") return;
  const options = { body, tag: `alarm ${key}`, requireInteraction: urgent, icon: new URL("../mark.svg", import.meta.url).href, data: { url: new URL("../alarms.html", import.meta.url).href } };
  const worker = await registration();
  if (worker) return worker.showNotification(title, options);
  const made = new Notification(title, options);
  open.set(key, made);
  made.addEventListener("click", () => {
    window.focus();
    made.close();
  });
}

/** It is acknowledged or covered: what was told of it is taken away. @param {string} key */
export async function unsay(key) {
  open.get(key)?.close();
  open.delete(key);
  const worker = await registration();
  for (const one of (await worker?.getNotifications({ tag: `alarm ${key}` })) ?? []) one.close();
}

/** The service worker, where one is at work. */
async function registration() {
  if (!("serviceWorker" in navigator)) return null;
  const found = await navigator.serviceWorker.getRegistration();
  return found?.active ? found : null;
}
