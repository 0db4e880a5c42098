import { question } from "./app.mjs";
import { fault } from "./notice.mjs";
import { Regions } from "./regions.mjs";

/** The answers that show the workshop itself and ask for no form. */

/** By the task that fills them. @type {Map<string, Regions>} */
const standing = new Map();
for (const place of document.querySelectorAll(/** @type {"div"} */ ("[data-ask]"))) {
  const task = place.dataset.ask ?? "";
  standing.set(task, new Regions([...(standing.get(task)?.places ?? []), place]));
}

/** Asks for all of them. */
export async function showStanding() {
  for (const [task, regions] of standing) {
    regions.busy();
    const reply = await question(task, {});
    if (reply?.off) regions.off(reply.off, false);
    else if (reply?.fault !== undefined) fault(reply.fault, reply.report ?? "");
    if (reply && !reply.off) regions.show(reply.html ?? {}, reply.ok === true);
  }
}
