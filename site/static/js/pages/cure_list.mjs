/** Starts the cure rack: every batch on it, and the racks as they stand. */

import "../cure/racks.mjs";
import "./list.mjs";
