// The line to the service over which scans come: kept up, and its state told.

import { apiUrl } from "../shared/api.js";

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 8000;

/**
 * @typedef {object} Ears
 * @property {(scan: ScanMessage) => void} scan
 * @property {() => void} layout places or placements changed, or too much was missed
 * @property {(again: boolean) => void} open
 * @property {() => void} lost
 */

/**
 * Listen until the page is left. The browser reconnects a broken line by itself; one that was
 * refused (the service is starting, a proxy answers in its place) is tried again from here.
 * @param {Ears} ears
 */
export function listen(ears) {
  let wait_ms = FIRST_WAIT_MS;
  let opened = false;
  let timer = 0;
  /** @type {EventSource} */
  let source;

  function connect() {
    clearTimeout(timer);
    source?.close();
    source = new EventSource(apiUrl("live/events"));
    source.addEventListener("open", () => {
      wait_ms = FIRST_WAIT_MS;
      ears.open(opened);
      opened = true;
    });
    source.addEventListener("error", () => {
      ears.lost();
      if (source.readyState === EventSource.CLOSED) later();
    });
    source.addEventListener("scan", (event) => ears.scan(JSON.parse(event.data)));
    source.addEventListener("layout", () => ears.layout());
    source.addEventListener("load-again", () => ears.layout());
  }

  function later() {
    timer = window.setTimeout(connect, wait_ms);
    wait_ms = Math.min(LONGEST_WAIT_MS, wait_ms * 2);
  }

  connect();
  return { reconnect: connect };
}
