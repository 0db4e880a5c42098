/** One text for one value: keys in code-point order, no white space. @param {unknown} value @returns {string} */
export function canonical(value) {
  // A copy brings its keys in order. The browser's own writing takes a fraction of the time.
  if (isOrdered(value)) return JSON.stringify(value) ?? "null";
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  const entries = Object.entries(/** @type {object} */ (value)).filter(([, held]) => held !== undefined);
  entries.sort(([a], [b]) => (a < b ? -1 : 1));
  return `{${entries.map(([key, held]) => `${JSON.stringify(key)}:${canonical(held)}`).join(",")}}`;
}

/** Whether all keys stand in order already. @param {unknown} value @returns {boolean} */
function isOrdered(value) {
  if (typeof value !== "object" || value === null) return true;
  if (Array.isArray(value)) return value.every(isOrdered);
  let before = "";
  for (const [key, held] of Object.entries(value)) {
    if (key < before || !isOrdered(held)) return false;
    before = key;
  }
  return true;
}
