// The line to the service over which scans come: kept up, and its state told.

import { apiUrl, seeWhoAsks } from "../shared/api.js";

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 8000;

let lines = 0;

/** Whether this page has a line already. */
export function isListening() {
  return lines > 0;
}

/** Tell the whole page, the banner among it. @param {string} name @param {unknown} detail */
function spread(name, detail) {
  document.dispatchEvent(new CustomEvent(name, { detail }));
}

/**
 * @typedef {object} Ears
 * @property {(scan: ScanMessage) => void} scan
 * @property {() => void} again places or placements changed, or more was missed than is sent
 * @property {() => void} [record] something of the record has changed
 * @property {() => void} open
 * @property {() => void} lost
 */

/**
 * Listen from an event on until the page is left. The browser reconnects a broken line by itself
 * and asks for what it missed; a line that was refused (the service is starting, a proxy answers
 * in its place) or that is silent is opened again from here.
 * @param {Ears} ears
 * @param {string} after the event to follow
 */
export function listen(ears, after) {
  lines += 1;
  let wait_ms = FIRST_WAIT_MS;
  let last = after;
  let timer = 0;
  /** @type {EventSource | undefined} */
  let source;

  /** @param {(event: MessageEvent<string>) => void} act */
  const heard = (act) => (/** @type {MessageEvent<string>} */ event) => {
    last = event.lastEventId || last;
    act(event);
  };

  function connect() {
    clearTimeout(timer);
    source?.close();
    const line = new EventSource(apiUrl("live/events", { after: last }));
    source = line;
    line.addEventListener("open", () => {
      wait_ms = FIRST_WAIT_MS;
      ears.open();
      spread("line", "open");
    });
    line.addEventListener("error", () => {
      ears.lost();
      spread("line", "lost");
      if (line.readyState !== EventSource.CLOSED) return;
      void seeWhoAsks();
      later();
    });
    line.addEventListener("scan", heard(({ data }) => ears.scan(JSON.parse(data))));
    line.addEventListener("alarms", heard(({ data }) => spread("alarms", JSON.parse(data))));
    line.addEventListener("estimates", heard(({ data }) => spread("estimates", JSON.parse(data))));
    line.addEventListener("record", heard(() => ears.record?.()));
    line.addEventListener("layout", heard(ears.again));
    line.addEventListener("load-again", heard(() => {
      ears.again();
      spread("line", "open"); // alarms may be among what was missed
    }));
  }

  function later() {
    timer = window.setTimeout(connect, wait_ms);
    wait_ms = Math.min(LONGEST_WAIT_MS, wait_ms * 2);
  }

  connect();
  return { reconnect: connect };
}
