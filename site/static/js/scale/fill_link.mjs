/** How the address of the page at the scale asks for a fill. In other addresses a batch's code stands before the slash. */
export const FILLS = "fill";

/** @param {string} id */
export const fillLink = (id) => `#/${FILLS}/${encodeURIComponent(id)}`;
