// Names of events and calls, as docs/call.md has them. UUID of version 7: RFC 9562, sections 5.7 and 6.2.
const LETTERS = "0123456789abcdefghjkmnpqrstvwxyz";
const TAIL = (1n << 62n) - 1n;

/** A fresh id that sorts after `after`, even when the clock was set back. noise: 10 random bytes. */
export function mint(after, milliseconds, noise = random(10)) {
  const number = noise.reduce((sum, byte) => (sum << 8n) | BigInt(byte), 0n);
  const fresh = assemble((BigInt(milliseconds) << 12n) | ((number >> 64n) & 0xfffn), number);
  if (!after || fresh > after) return fresh;
  const whole = BigInt(`0x${after.replaceAll("-", "")}`);
  // Time and counter as one number, so that a full counter carries into the time
  const ahead = ((whole >> 80n) << 12n) | ((whole >> 64n) & 0xfffn);
  return assemble(ahead + 1n, number);
}

/** The id of a new call: sixteen random letters. */
export function callId(noise = random(10)) {
  const number = noise.reduce((sum, byte) => (sum << 8n) | BigInt(byte), 0n);
  return Array.from({ length: 16 }, (_, place) => LETTERS[Number((number >> BigInt(5 * (15 - place))) & 31n)]).join("");
}

/** Hash of bytes as text. */
export async function sha256(buffer) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", buffer));
  return Array.from(sum, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** A name for this browser, when the server gives it none. */
export function deviceName() {
  return `page-${callId().slice(0, 8)}`;
}

function random(count) {
  return crypto.getRandomValues(new Uint8Array(count));
}

function assemble(head, noise) {
  const whole = ((head >> 12n) << 80n) | (7n << 76n) | ((head & 0xfffn) << 64n) | (2n << 62n) | (noise & TAIL);
  const text = whole.toString(16).padStart(32, "0");
  return [text.slice(0, 8), text.slice(8, 12), text.slice(12, 16), text.slice(16, 20), text.slice(20)].join("-");
}
