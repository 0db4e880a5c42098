/** What pages say of a block, or a fill, that is in hand on another of the shop's phones. */

import { latelyWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { inHandElsewhere } from "../rules/in_hand_elsewhere.mjs";
import { readPhone } from "../store/shop.mjs";
import { nameOf } from "./names.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** This phone's id; "" where it isn't paired. */
export const thisDevice = async () => (await readPhone().catch(() => null))?.device ?? "";

/** The other phone as people call it, and who is at it. @param {import("../rules/in_hand_elsewhere.mjs").Elsewhere} elsewhere */
export const atPhone = ({ device, person }) => {
  const phone = nameOf(device);
  return phone === "" ? word("at-other-phone", { person }) : word("at-phone", { person, phone });
};

/** "J on “the bench phone”, last heard 10:41 AM"; "" where it is in no other phone's hands. @param {TarewellEvent[]} events @param {string} device Of this phone. */
export function elsewhereWords(events, device) {
  const found = inHandElsewhere(events, device);
  return found ? word("elsewhere", { who: atPhone(found), time: latelyWords(found.at) }) : "";
}
