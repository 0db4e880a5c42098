/** Starts a page that shows nothing of the workshop: the sources, the emergency card, a wrong address. */

import { startPage } from "./every.mjs";

await startPage();

/** Such a page asks Python nothing; whoever looks into the app from outside may, through it. */
export { ask } from "../frame/python.mjs";
