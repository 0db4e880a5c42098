import { kindOf } from "../rules/after_pour.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { liftedLike } from "../store/standing.mjs";
import { untilRead } from "./unread.mjs";

/** @import { AfterPour, Lifted } from "../rules/after_pour.mjs" */

/** How long blocks like these stood in their moulds. Nobody at the scale waits until what stands is made: until then all is read. @param {AfterPour[]} blocks @returns {Promise<Lifted[]>} */
export async function readLifted(blocks) {
  const kinds = blocks.map((block) => kindOf(block));
  if (kinds.length === 0) return [];
  return (await untilRead((limit) => liftedLike(kinds, limit), () => [])) ?? untilRead((limit) => eventsOfKinds(["lifted"], limit), () => []);
}
