import { decoded } from "../frame/address.mjs";

/** @import { Values } from "../rules/types.mjs" */

/**
 * What the address's #part names: "#new", "#<id>", "#copy/<id>", on a page of several kinds with the kind in front
 * ("#mould/m-block"). Behind a copy's id may stand what sets it apart from other copies ("#copy/<id>/tallow-30"): each has a
 * draft of its own. What follows a question mark is put into the form ("#f-plain?blocks=2"): another page hands it over.
 *
 * @typedef {object} Place
 * @property {string} kind    "" on a page of one kind
 * @property {string} id      "" for a new item and where nothing is named
 * @property {boolean} copy   the item is to be copied
 * @property {boolean} blank  a new, empty item
 * @property {string} key     the part itself, for drafts
 * @property {Values} puts    what is put into the form, by control
 *
 * @param {string} hash
 * @param {string[]} kinds The kinds of a page of several; empty on others.
 * @returns {Place}
 */
export function readPlace(hash, kinds) {
  const [key = "", put = ""] = hash.replace(/^#/, "").split(/\?(.*)/s);
  const steps = key.split("/").map(decoded);
  const kind = kinds.includes(steps[0] ?? "") ? (steps.shift() ?? "") : "";
  const copy = steps[0] === "copy" && steps.length > 1;
  if (copy) steps.shift();
  const id = copy ? (steps[0] ?? "") : steps.join("/");
  return { kind, id: id === "new" ? "" : id, copy, blank: id === "new" || (kind !== "" && id === ""), key, puts: Object.fromEntries(new URLSearchParams(put)) };
}
