// Has the browser keep the pages, so that they open without a network: where it allows that, and
// not before the page has long settled.

const SETTLED_MS = 8000;
const WORKER = new URL("../worker.js", import.meta.url);

export function keepShell() {
  if (!("serviceWorker" in navigator)) return; // plain http from another machine
  setTimeout(() => {
    if (!navigator.onLine) return addEventListener("online", keepShell, { once: true });
    navigator.serviceWorker.register(WORKER).catch((error) => console.info("the pages are not kept", error));
  }, SETTLED_MS);
}
