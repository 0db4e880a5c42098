import { untilRead } from "../frame/unread.mjs";
import { WALK_KINDS } from "../rules/kinds.mjs";
import { daysAfter } from "../rules/training.mjs";
import { dayOn } from "../store/clock.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { walksSince } from "../store/standing.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** No month is longer, and what is told of a day may stand a day beside it on another clock. [days] */
const MONTH = 32;

/**
 * The walks that tell who may do what today: those with an open stop, and all since a training that still holds can have been
 * answered. Every day adds one; of the years before none counts any more. Until what stands is made, all are read.
 *
 * @param {number | null} months After which a training is renewed; null where none is asked for, or none holds.
 * @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} In order.
 */
export async function walksThatTell(months, limit) {
  const since = daysAfter(dayOn(), -MONTH * ((months ?? 0) + 1));
  return (await walksSince(since, limit)) ?? eventsOfKinds(WALK_KINDS, limit);
}

/** The same, read until that succeeds. @param {number | null} months */
export const readWalks = (months) => untilRead((limit) => walksThatTell(months, limit));
