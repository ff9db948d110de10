// Ids made here, so that an entry sent twice is known to be the same one (RFC 9562, version 7).
// By getRandomValues: randomUUID is withheld on plain http.

const MOST = 0xfff;

let last = { ms: 0, count: 0 };

/**
 * An id that sorts by when it was made, those of one millisecond among each other too.
 * @param {number} [now_ms]
 */
export function uuid7(now_ms = Date.now()) {
  last = following(last, now_ms);
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let rest = last.ms;
  for (let index = 5; index >= 0; index -= 1) {
    bytes[index] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = 0x70 | (last.count >> 8);
  bytes[7] = last.count & 0xff;
  bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** A clock that steps back, or stands, counts on from where it was. @param {{ms: number, count: number}} before @param {number} now_ms */
function following({ ms, count }, now_ms) {
  if (now_ms > ms) return { ms: now_ms, count: 0 };
  return count < MOST ? { ms, count: count + 1 } : { ms: ms + 1, count: 0 };
}
