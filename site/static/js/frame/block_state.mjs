import { foldBlock } from "../rules/block.mjs";
import { word } from "./words.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** How far a block is, in words: "step 9 of 21", "✓ closed". @param {TarewellEvent} issued @param {TarewellEvent[]} events Of the block. */
export function blockState(issued, events) {
  const fold = foldBlock(issued.steps ?? [], events);
  if (events.some(({ kind }) => kind === "racked")) return word("block-racked");
  if (fold.closed) return word(fold.closed.outcome === "quarantined" ? "block-apart" : "block-closed");
  if (events.length === 0) return word("block-not-begun");
  const of = fold.steps.length;
  return word("step-of", { n: Math.min(fold.index + 1, of), of });
}
