import { canonical } from "./canonical.mjs";
import { compare, inOrder } from "./fold.mjs";
import { differences } from "./replacing.mjs";

/** @import { TarewellEvent } from "./types.mjs" */
/** @import { Changed } from "./replacing.mjs" */

/** What is handed from one phone to another: a formula with what it is made of, or an issued sheet. All else goes as a copy. */

/** The kinds of items that may be handed over. */
const HANDED = ["formula", "own_oil", "scent", "scent_lot"];

/** More than this is no formula with its oils and lots. */
const MOST_EVENTS = 100;

/** @param {string} subject */
const kindOf = (subject) => subject.slice(0, subject.indexOf(":"));

/** Whether there is nothing in it but what may be handed over. A link must not bring a removal, a weighing or a signature. @param {TarewellEvent[]} events */
export const isParcel = (events) =>
  events.length > 0 && events.length <= MOST_EVENTS &&
  events.every(({ kind, subject }) => kind === "issued" || (kind === "saved" && HANDED.includes(kindOf(subject))));

/**
 * A formula as it was saved last, with the oils of one's own in it, its scent, and the lots that this is mixed of. None where
 * it isn't stored.
 *
 * @param {TarewellEvent[]} events Everything saved. @param {string} id Of the formula.
 * @returns {TarewellEvent[]}
 */
export function parcelOf(events, id) {
  /** @type {Map<string, TarewellEvent>} */
  const newest = new Map();
  for (const event of inOrder(events)) if (event.kind === "saved" || event.kind === "removed") newest.set(event.subject, event);
  const saved = (/** @type {string} */ subject) => {
    const event = newest.get(subject);
    return event?.kind === "saved" ? [event] : [];
  };
  const lots = (/** @type {string[]} */ texts) => texts.filter((text) => text.startsWith("lot:")).flatMap((text) => saved(`scent_lot:${text.slice(4)}`));
  const formula = saved(`formula:${id}`);
  const texts = formula.flatMap(({ values = {} }) => Object.values(values));
  const oils = texts.filter((text) => text.startsWith("own:")).flatMap((text) => saved(`own_oil:${text.slice(4)}`));
  const scent = formula.flatMap(({ values = {} }) => saved(`scent:${values.scent ?? ""}`));
  const mixed = scent.flatMap(({ values = {} }) => Object.values(values));
  return [...new Set([...formula, ...oils, ...scent, ...lots([...texts, ...mixed])])];
}

/**
 * @typedef {object} Compared  One thing that came, beside what is stored here.
 * @property {TarewellEvent} event
 * @property {TarewellEvent | null} here  what counts here now
 * @property {"new" | "same" | "newer" | "older" | "conflict"} how
 * @property {Changed[]} fields    what differs; of something new all that it says
 */

/**
 * What came beside what is here. Newer and older are told by both the revision and the clock; where they disagree, or one
 * revision was written twice, both phones have changed it, and only a person knows which is right. Of a removal it is told as of a
 * change. What is handed over for its own sake stands first. Pure.
 *
 * @param {TarewellEvent[]} stored Of the workshop, and the sheets with the codes that came.
 * @param {TarewellEvent[]} came
 * @returns {Compared[]}
 */
export const compared = (stored, came) =>
  [...came]
    .sort((a, b) => HANDED.indexOf(kindOf(a.subject)) - HANDED.indexOf(kindOf(b.subject)))
    .map((event) => beside(event, inOrder(stored.filter(({ subject }) => subject === event.subject))));

/** @param {TarewellEvent} event @param {TarewellEvent[]} before @returns {Compared} */
function beside(event, before) {
  const here = before.at(-1) ?? null;
  const values = event.values ?? {};
  if (!here) return { event, here, how: "new", fields: differences({}, values) };
  if (before.some(({ id }) => id === event.id)) return { event, here, how: "same", fields: [] };
  if (event.kind === "issued") return { event, here, how: "conflict", fields: [] };
  const there = here.values ?? {};
  if (here.kind === "saved" && canonical(there) === canonical(values)) return { event, here, how: "same", fields: [] };
  const byClock = Math.sign(compare(event.at, here.at));
  const byRevision = event.revision === undefined || here.revision === undefined ? byClock : Math.sign(event.revision - here.revision);
  const how = byClock !== byRevision || byClock === 0 ? "conflict" : byClock > 0 ? "newer" : "older";
  return { event, here, how, fields: differences(there, values) };
}
