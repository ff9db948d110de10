// Whether a page was opened on the machine itself, by an address that means another machine
// wherever else it is read.

const HERE_ONLY = /^(localhost|.+\.localhost|127(\.\d{1,3}){3}|\[::1\])$/; // RFC 6761, RFC 5735, RFC 4291

/** @param {string} hostname as of a location */
export function isHereOnly(hostname) {
  return HERE_ONLY.test(hostname);
}
