/** Initials drawn with a finger: lines between whole points of a 600 by 240 field. They stand in a field of the form, too. */

const MOST = 50_000;

/** @param {HTMLElement} place @returns {{path: () => string, wipe: () => void, show: () => void}} */
export function drawInitials(place) {
  const pad = /** @type {SVGSVGElement} */ (place.querySelector("[data-pad]"));
  const field = /** @type {HTMLInputElement} */ (place.querySelector('input[name="path"]'));
  let pen = false;
  const show = () => pad.querySelector("path")?.setAttribute("d", field.value);
  /** @param {string} path */
  const set = (path) => {
    field.value = path;
    field.dispatchEvent(new Event("input"));
    show();
  };
  /** @param {PointerEvent} event @param {string} letter */
  const to = (event, letter) => {
    const box = pad.getBoundingClientRect();
    const at = (/** @type {number} */ part, /** @type {number} */ most) => Math.round(Math.min(1, Math.max(0, part)) * most);
    const point = `${letter}${at((event.clientX - box.left) / box.width, 600)} ${at((event.clientY - box.top) / box.height, 240)}`;
    if (field.value.length + point.length <= MOST) set(field.value + point);
  };
  pad.addEventListener("pointerdown", (event) => {
    pen = true;
    pad.setPointerCapture(event.pointerId);
    to(event, "M");
  });
  pad.addEventListener("pointermove", (event) => {
    if (pen) to(event, "L");
  });
  for (const end of ["pointerup", "pointercancel"]) pad.addEventListener(end, () => (pen = false));
  return { path: () => field.value, wipe: () => set(""), show };
}

/** Puts a kept drawing into its place; none where nothing was drawn. @param {ParentNode} part @param {string} path */
export function showInitials(part, path) {
  const pad = part.querySelector("[data-pad]");
  if (path) pad?.querySelector("path")?.setAttribute("d", path);
  else pad?.remove();
}
