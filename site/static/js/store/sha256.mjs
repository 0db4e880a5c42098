/** SHA-256 (FIPS 180-4) of bytes that come piece by piece: the browser's own takes all of them at once, and a copy may be larger than a phone can hold. */

const BLOCK = 64;

/** The first 32 bits of the fractional parts of a root of each of the first primes (FIPS 180-4, 4.2.2 and 5.3.3). @param {number} count @param {number} power */
function roots(count, power) {
  const found = [];
  for (let n = 2; found.length < count; n += 1) {
    let prime = true;
    for (let divisor = 2; divisor * divisor <= n; divisor += 1) if (n % divisor === 0) prime = false;
    if (prime) found.push((n ** power * 2 ** 32) | 0);
  }
  return Int32Array.from(found);
}

const CONSTANTS = roots(64, 1 / 3);

export class Sha256 {
  constructor() {
    this.state = roots(8, 1 / 2);
    this.words = new Int32Array(BLOCK);
    /** What does not fill a block yet. */
    this.rest = new Uint8Array(BLOCK);
    this.held = 0;
    this.length = 0;
  }

  /** @param {Uint8Array} bytes */
  update(bytes) {
    this.length += bytes.length;
    let from = 0;
    if (this.held > 0) {
      from = Math.min(BLOCK - this.held, bytes.length);
      this.rest.set(bytes.subarray(0, from), this.held);
      this.held += from;
      if (this.held < BLOCK) return;
      this.block(this.rest, 0);
      this.held = 0;
    }
    for (; from + BLOCK <= bytes.length; from += BLOCK) this.block(bytes, from);
    this.held = bytes.length - from;
    this.rest.set(bytes.subarray(from));
  }

  /** @param {Uint8Array} bytes @param {number} from */
  block(bytes, from) {
    const { state, words: w } = this;
    for (let t = 0; t < 16; t += 1) {
      const at = from + 4 * t;
      w[t] = (byte(bytes, at) << 24) | (byte(bytes, at + 1) << 16) | (byte(bytes, at + 2) << 8) | byte(bytes, at + 3);
    }
    for (let t = 16; t < 64; t += 1) {
      const x = word(w, t - 15);
      const y = word(w, t - 2);
      const small0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
      const small1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
      w[t] = (word(w, t - 16) + small0 + word(w, t - 7) + small1) | 0;
    }
    let a = word(state, 0), b = word(state, 1), c = word(state, 2), d = word(state, 3);
    let e = word(state, 4), f = word(state, 5), g = word(state, 6), h = word(state, 7);
    for (let t = 0; t < 64; t += 1) {
      const large1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const one = (h + large1 + ((e & f) ^ (~e & g)) + word(CONSTANTS, t) + word(w, t)) | 0;
      const large0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const two = (large0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g;
      g = f;
      f = e;
      e = (d + one) | 0;
      d = c;
      c = b;
      b = a;
      a = (one + two) | 0;
    }
    state[0] = word(state, 0) + a;
    state[1] = word(state, 1) + b;
    state[2] = word(state, 2) + c;
    state[3] = word(state, 3) + d;
    state[4] = word(state, 4) + e;
    state[5] = word(state, 5) + f;
    state[6] = word(state, 6) + g;
    state[7] = word(state, 7) + h;
  }

  /** Ends it. @returns {string} In lower-case hexadecimal. */
  hex() {
    const bits = this.length * 8;
    const end = new Uint8Array(this.held < 56 ? BLOCK - this.held : 2 * BLOCK - this.held);
    end[0] = 0x80;
    const view = new DataView(end.buffer);
    view.setUint32(end.length - 8, Math.floor(bits / 2 ** 32));
    view.setUint32(end.length - 4, bits >>> 0);
    this.update(end);
    return [...this.state].map((each) => (each >>> 0).toString(16).padStart(8, "0")).join("");
  }
}

/** @param {Uint8Array} bytes @param {number} at */
const byte = (bytes, at) => /** @type {number} */ (bytes[at]);

/** @param {Int32Array} words @param {number} at */
const word = (words, at) => /** @type {number} */ (words[at]);
