/**
 * Makes what stands on the page into a newer answer, and touches only what differs: the rest keeps its folds, the focus, what
 * is selected in it, and its layout.
 */

/** What carries a state of its own, or a listener's: put in whole where it differs at all. */
const WHOLE = "button, input, select, textarea";

/**
 * The older answer says what has changed, and not the page: a fold that somebody has opened is no change.
 *
 * @param {Node} live @param {Node} older As it came. @param {Node} newer
 */
export function renew(live, older, newer) {
  const [shown, from, to] = [live, older, newer].map(({ childNodes }) => [...childNodes]);
  if (!shown || !from || !to) return;
  // Something else has changed what stands here.
  if (shown.length !== from.length || shown.some((node, n) => node.nodeName !== from[n]?.nodeName)) {
    /** @type {ParentNode & Node} */ (live).replaceChildren(...to.map(own));
    return;
  }
  let before = 0;
  while (before < from.length && same(from[before], to[before])) before += 1;
  let after = 0;
  while (after < Math.min(from.length, to.length) - before && same(from.at(-1 - after), to.at(-1 - after))) after += 1;
  let at = before;
  const end = from.length - after;
  for (const node of to.slice(before, to.length - after)) {
    let found = at;
    while (found < end && !areOneKind(from[found], node)) found += 1;
    if (found === end) {
      live.insertBefore(own(node), shown[at] ?? null);
      continue;
    }
    for (; at < found; at += 1) shown[at]?.remove();
    change(/** @type {ChildNode} */ (shown[found]), /** @type {ChildNode} */ (from[found]), node);
    at = found + 1;
  }
  for (; at < end; at += 1) shown[at]?.remove();
}

/** @param {ChildNode} live @param {ChildNode} older @param {ChildNode} newer One of the same kind. */
function change(live, older, newer) {
  if (older.isEqualNode(newer)) return;
  if (!(live instanceof Element && older instanceof Element && newer instanceof Element)) live.nodeValue = newer.nodeValue;
  else if (live.matches(WHOLE)) live.replaceWith(own(newer));
  else {
    for (const { name, value } of newer.attributes) if (older.getAttribute(name) !== value) live.setAttribute(name, value);
    // What somebody has opened stays so.
    for (const { name } of older.attributes) if (name !== "open" && !newer.hasAttribute(name)) live.removeAttribute(name);
    renew(live, older, newer);
  }
}

/** What tells a part from others beside it. */
const TELLING = ["data-fold", "id", "class"];

/** @param {Node | undefined} one @param {Node} other */
function areOneKind(one, other) {
  if (one?.nodeName !== other.nodeName) return false;
  if (!(one instanceof Element && other instanceof Element)) return true;
  return TELLING.every((name) => one.getAttribute(name) === other.getAttribute(name));
}

/** @param {Node | undefined} one @param {Node | undefined} other */
const same = (one, other) => other !== undefined && one?.isEqualNode(other);

/** @param {Node} node */
const own = (node) => document.importNode(node, true);
