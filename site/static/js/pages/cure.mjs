/** Starts a page with a form about a batch on the rack. */

import "../cure/racks.mjs";
import { watchDeeds } from "../cure/deeds.mjs";
import { changed } from "./form.mjs";

watchDeeds(changed);
