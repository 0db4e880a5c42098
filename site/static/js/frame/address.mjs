/** A part of an address as it was meant. A damaged one names nothing of ours, and is read as it stands. @param {string} part */
export function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
