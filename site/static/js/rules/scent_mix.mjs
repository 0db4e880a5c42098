/** @import { TarewellEvent } from "./types.mjs" */

/** @typedef {{lot: string, share: number}[]} LotShares   What a mix is of, lot by lot; a part whose lot nobody named has "". */

/** How a sheet names the lots of a mix in one line: calc/scent/batch.py writes it. */
const BETWEEN = ", ";

/**
 * The lots that a scent's line names, each with its share of the mix by the sheet's own parts; null where the line is one lot's.
 * Of a line that was typed at the scale, and names as many lots as the sheet, they stand in the sheet's order.
 *
 * @param {TarewellEvent} issued @param {string} line @returns {LotShares | null}
 */
export function lotsOfMix({ scent }, line) {
  /** @type {{lot: string | null, share_fraction: number}[]} */
  const parts = Array.isArray(scent?.parts) ? scent.parts : [];
  if (parts.length < 2 || line === "") return null;
  const own = [...new Set(parts.flatMap(({ lot }) => lot ?? []))];
  const named = line === own.join(BETWEEN) ? own : line.split(BETWEEN).map((lot) => lot.trim()).filter(Boolean);
  if (named.length !== own.length) return named.length > 1 ? named.map((lot) => ({ lot, share: 0 })) : null;
  return parts.map(({ lot, share_fraction }) => ({ lot: lot ? (named[own.indexOf(lot)] ?? "") : "", share: share_fraction }));
}
