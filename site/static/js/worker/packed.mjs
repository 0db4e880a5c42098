// Files travel packed (gzip), since not every host packs them, and are read unpacked.

/** The first three bytes of every such file (RFC 1952, 2.3.1). A snapshot begins with its header's length, which is far less
 * than these would make. @param {ArrayBuffer} buffer */
export function isPacked(buffer) {
  const [first, second, method] = new Uint8Array(buffer, 0, Math.min(3, buffer.byteLength));
  return first === 0x1f && second === 0x8b && method === 8;
}

/** Older browsers can't. */
export const canUnpack = typeof DecompressionStream === "function";

/** The content, however it has come: from a host, or unpacked already out of the stored copy. @param {ArrayBuffer} buffer */
export async function unpacked(buffer) {
  if (!isPacked(buffer)) return buffer;
  return new Response(new Blob([buffer]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}
