import { readLifted } from "../frame/lifted.mjs";
import { untilRead } from "../frame/unread.mjs";
import { afterOf, deedOf, goesOn, inOrderOfWork, unmouldFrom } from "../rules/after_pour.mjs";
import { blockOf } from "../rules/block.mjs";
import { clock } from "../store/clock.mjs";
import { batch, eventsOfBatch, recentBatches } from "../store/events.mjs";

/** @import { AfterPour, Lifted } from "../rules/after_pour.mjs" */

/** What was poured lately: the blocks of the newest batches are looked at. All would take longer with every batch. */
const RECENT = 12;

/** @returns {Promise<AfterPour[]>} Closed blocks, whatever their sheet has of the work after the pour. */
export async function readPoured() {
  const batches = await untilRead(() => recentBatches(RECENT), () => []);
  const found = await Promise.all(batches.map(async ({ code }) => {
    const events = await untilRead(() => eventsOfBatch(code));
    const closed = events.filter(({ kind, outcome }) => kind === "closed" && outcome === "poured").map(({ subject }) => subject);
    const [issued, ...others] = closed.length > 0 ? await untilRead(() => batch(code)) : [];
    // Of two sheets with one code nobody knows which the block was made by.
    if (!issued || others.length > 0) return [];
    return [...new Set(closed)].map((subject) => ({ subject, issued, events: events.filter((event) => event.subject === subject) }));
  }));
  return found.flat();
}

/** The blocks after the pour, and what earlier ones say of how long they stay in the mould. */
export class AfterDay {
  constructor() {
    /** @type {AfterPour[]} */
    this.blocks = [];
    /** @type {Lifted[]} */
    this.lifted = [];
  }

  /** @param {AfterPour[]} [poured] Where they have been read already. */
  async read(poured) {
    this.blocks = (poured ?? (await readPoured())).filter(goesOn);
    this.lifted = await readLifted(this.blocks);
  }

  /** How many blocks make a habit of the workshop: a row of the reference, which the page holds. */
  get least() {
    return Number(/** @type {HTMLElement | null} */ (document.querySelector("[data-own-blocks]"))?.dataset.ownBlocks);
  }

  /** What is next at each block, in the order of work. */
  deeds() {
    return inOrderOfWork(this.blocks.flatMap((block) => deedOf(block, this.lifted, this.least) ?? []), clock.now());
  }

  /** When a block is to come out of its mould, and how that is known. @param {AfterPour} block */
  unmouldFrom(block) {
    return unmouldFrom(block, afterOf(block), this.lifted, this.least);
  }
}

/** @param {string} subject */
export function afterLink(subject) {
  const [code, block] = blockOf(subject);
  return `#${encodeURIComponent(code)}/${block}/after`;
}
