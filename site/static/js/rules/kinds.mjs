import DECLARED from "../../../../shared/records/kinds.json" with { type: "json" };

/** @import { BlockKind, Kind, WalkKind } from "./types.mjs" */

/**
 * Every kind of event there is. The declaration groups them by what they are about: how its subject begins and goes on, and
 * for each kind what it must have and what it may have, field by shape (`shapes.json`; "?" lets it be null); which steps it
 * completes; its words where records are counted; and what the reckoning at the scale looks at. Python reads the same file.
 */
export { DECLARED };

/**
 * @typedef {object} Declared     One kind of event.
 * @property {string} words
 * @property {Record<string, string>} must  field -> shape
 * @property {Record<string, string>} may
 * @property {string[]} [completes]  kinds of steps
 */
/** @typedef {{begins: string[], goes_on: string, named_by?: string, kinds: Record<string, Declared>}} Group   `named_by`: the field in which the subject's second half stands again. */

/** @type {Group[]} */
export const GROUPS = Object.values(DECLARED);

/** @template {string} K @param {Record<K, unknown>} kinds */
const named = (kinds) => /** @type {K[]} */ (Object.keys(kinds));

const KINDS = new Set(GROUPS.flatMap(({ kinds }) => Object.keys(kinds)));

/** @param {string} name @returns {name is Kind} */
export const isKind = (name) => KINDS.has(name);

/** The kinds of items a workshop is made of. */
export const ITEM_KINDS = DECLARED.item.begins;

/** @type {Record<BlockKind, Declared>} */
export const BLOCK_EVENTS = DECLARED.block.kinds;

/** What is stored about one block at the scale. @type {BlockKind[]} */
export const BLOCK_KINDS = named(BLOCK_EVENTS);

/** What is stored about one safety walk. @type {WalkKind[]} */
export const WALK_KINDS = named(DECLARED.walk.kinds);
