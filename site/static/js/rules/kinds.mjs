import DECLARED from "../../../../shared/records/kinds.json" with { type: "json" };

/** @import { AfterSaleKind, BlockKind, CureKind, FillKind, Kind, StockKind, PackedKind, ReleaseKind, TankKind, UpkeepKind, WalkKind } from "./types.mjs" */

/**
 * Every kind of event there is, in groups by what it is about. Python reads the same file (calc/block/declared.py).
 *
 * A group says how its subject begins, up to the colon, and how it goes on. A kind says:
 *
 * - its words where records are counted;
 * - which fields it `must` and `may` have, each with its shape in `shapes.json` ("?" lets it be null);
 * - which kinds of steps it completes;
 * - which of its fields the reckoning at the scale looks at, if any.
 *
 * A new kind, or a new field of one, is declared there. Then the folds make something of it: block.mjs or walk.mjs here, and
 * calc/block/events.py. A field's type for the scripts stands in types.mjs. What is stored already must go on fitting, so a
 * field that comes later may be missing.
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

/** What is stored about the bars of one block on a rack. @type {CureKind[]} */
export const CURE_KINDS = named(DECLARED.cure.kinds);

/** What is stored about one safety walk. @type {WalkKind[]} */
export const WALK_KINDS = named(DECLARED.walk.kinds);

/** What is stored about a tank that is filled step by step. @type {FillKind[]} */
export const FILL_KINDS = named(DECLARED.fill.kinds);

/** What is stored about what a tank holds. Its subject is no tank's own: there a load would pass for a change of the tank's form. @type {TankKind[]} */
export const TANK_KINDS = named(DECLARED.tank.kinds);

/** What is stored about upkeep. The item is the task; this is its log. @type {UpkeepKind[]} */
export const UPKEEP_KINDS = named(DECLARED.upkeep.kinds);

/** Which ingredient names a person has confirmed. @type {import("./types.mjs").InciKind[]} */
export const INCI_KINDS = named(DECLARED.inci.kinds);

/** What is stored about whether a block's bars may be sold. @type {ReleaseKind[]} */
export const RELEASE_KINDS = named(DECLARED.release.kinds);

/** What is stored about packed lots. @type {PackedKind[]} */
export const PACKED_KINDS = named(DECLARED.packed.kinds);

/** What is stored about bars that are sold. @type {AfterSaleKind[]} */
export const AFTER_SALE_KINDS = named(DECLARED.after_sale.kinds);

/** What is stored about the stock of a lot, or of the bars of a block. @type {StockKind[]} */
export const STOCK_KINDS = named(DECLARED.stock.kinds);
