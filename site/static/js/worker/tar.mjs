// Reads the one kind of tar our build writes (USTAR, plain files), straight into Python's file system.

const BLOCK = 512;
const words = new TextDecoder();

/** @param {any} fs @param {string} folder @param {Uint8Array} bytes */
export function unpackTar(fs, folder, bytes) {
  /** @type {Set<string>} */
  const made = new Set();
  for (let at = 0; at + BLOCK <= bytes.length && bytes[at] !== 0; ) {
    const prefix = text(bytes, at + 345, 155);
    const name = `${folder}/${prefix ? `${prefix}/` : ""}${text(bytes, at, 100)}`;
    const size = parseInt(text(bytes, at + 124, 12), 8);
    const place = name.slice(0, name.lastIndexOf("/"));
    if (!made.has(place)) {
      fs.mkdirTree(place);
      made.add(place);
    }
    // canOwn: the file keeps this very view, so nothing is copied.
    fs.writeFile(name, bytes.subarray(at + BLOCK, at + BLOCK + size), { canOwn: true });
    at += BLOCK + Math.ceil(size / BLOCK) * BLOCK;
  }
}

/** @param {Uint8Array} bytes @param {number} at @param {number} length */
function text(bytes, at, length) {
  const field = bytes.subarray(at, at + length);
  const end = field.indexOf(0);
  return words.decode(end < 0 ? field : field.subarray(0, end)).trim();
}
