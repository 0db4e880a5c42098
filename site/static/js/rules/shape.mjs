/** What plain data may look like, for copies that come from outside. */

export const NAME_LENGTH = 200;

/** @param {unknown} value @returns {value is Record<string, unknown>} */
export const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/** @param {object} value @param {string[]} keys */
export const sameKeys = (value, keys) =>
  Object.keys(value).length === keys.length && keys.every((key) => Object.hasOwn(value, key));

/** @param {unknown} value @param {number} most @returns {value is string} */
export const isText = (value, most = NAME_LENGTH) => typeof value === "string" && value !== "" && value.length <= most;
