/** Readings of the records that pages from the rack to the customer share. */

import { inOrder } from "../rules/fold.mjs";
import { transact } from "../store/database.mjs";

/** Everything about these subjects, in order. @param {string[]} subjects */
export const eventsAbout = (subjects) =>
  transact("readonly", async (transaction) => {
    const index = transaction.objectStore("events").index("subject");
    return inOrder((await Promise.all(subjects.map((subject) => index.getAll(subject)))).flat());
  });
