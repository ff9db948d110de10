// Lets the pages open without a network: keeps their files, one set for each build, and of what
// the service says only what a page needs to show the last known state, marked with its time.
// Browsers allow it over https and on the machine itself.

const SHELL = "wormtub-shell-";
const LAST = "wormtub-last-known";
const AS_OF = "x-wormtub-as-of"; // shared/api.js reads it
const PATIENCE_MS = 2500;
const LAST_KNOWN = /^(site|live|places|vessels|occupancies|batches|lots|jars|jar-vessels|proofings|runs|record\/now|stock|(runs|lots|graph)\/[\w-]+|lots\/[\w-]+\/balance|transfers\?lot_id=[\w-]+)$/;
const FORBIDDEN = [401, 403];

/** The parts of the worker's world that are used; the checker knows only pages. @type {any} */
const worker = self;
const base = new URL("./", worker.location.href);

worker.addEventListener("install", (/** @type {any} */ event) => event.waitUntil(renew()));
worker.addEventListener("fetch", (/** @type {any} */ event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== base.origin || !url.pathname.startsWith(base.pathname)) return;
  const path = url.pathname.slice(base.pathname.length);
  if (!path.startsWith("api/")) event.respondWith(page(event, url));
  else if (LAST_KNOWN.test(path.slice(4) + url.search)) event.respondWith(freshOrLast(request));
});

worker.addEventListener("notificationclick", (/** @type {any} */ event) => {
  event.notification.close();
  event.waitUntil(bring(event.notification.data?.url ?? base.href));
});

/** A page of ours comes to the front, else one is opened. @param {string} url */
async function bring(url) {
  const [open] = await worker.clients.matchAll({ type: "window", includeUncontrolled: true });
  return open ? open.focus() : worker.clients.openWindow(url);
}

/** A file of the pages: as the service has it, else as kept. @param {any} event @param {URL} url @returns {Promise<Response>} */
async function page(event, url) {
  try {
    const answer = await patient(event.request);
    if (event.request.mode === "navigate") event.waitUntil(renew().catch((error) => console.info("not renewed", error)));
    return answer;
  } catch (error) {
    const kept = await keptFile(url);
    if (kept) return kept;
    throw error;
  }
}

/** Bad reception is silence. @param {Request} request @returns {Promise<Response>} */
async function patient(request) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    return await fetch(request, { signal: stop.signal });
  } finally {
    clearTimeout(timer);
  }
}

/** A page is the same whatever it is asked to show; a file that comes whole is not the file alone. @param {URL} url */
async function keptFile(url) {
  const plain = new URL(url.pathname + (url.search === "?whole" ? url.search : ""), url);
  const found = await caches.match(plain, { ignoreVary: true });
  return found ?? caches.match(new URL(`${url.pathname}.html`, url), { ignoreVary: true });
}

/** Keep the files of the build the service has now, all of them or none; then let older ones go. */
async function renew() {
  const { build, files } = await (await fetch(new URL("api/shell", base))).json();
  const name = SHELL + build;
  if (await caches.has(name)) return;
  const cache = await caches.open(name);
  try {
    await cache.addAll(files.map((/** @type {string} */ file) => new Request(new URL(file, base), { cache: "no-cache" })));
  } catch (error) {
    await caches.delete(name);
    throw error;
  }
  const old = (await caches.keys()).filter((each) => each.startsWith(SHELL) && each !== name);
  await Promise.all(old.map((each) => caches.delete(each)));
}

/** What the service says, else what it said last. @param {Request} request @returns {Promise<Response>} */
async function freshOrLast(request) {
  const last = await caches.open(LAST);
  try {
    const answer = await fetch(request);
    if (answer.ok) await last.put(request.url, await dated(answer.clone()));
    else if (FORBIDDEN.includes(answer.status)) await caches.delete(LAST); // signed out: nothing stays readable
    return answer;
  } catch (error) {
    const known = await last.match(request.url);
    if (known) return known;
    throw error;
  }
}

/** @param {Response} answer */
async function dated(answer) {
  const type = answer.headers.get("content-type") ?? "application/json";
  return new Response(await answer.blob(), { headers: { "content-type": type, [AS_OF]: String(Date.now()) } });
}
