/** Starts the page of an issued sheet. It works when Python can't start. */

import { showSheet } from "../records/sheet.mjs";
import { startPage } from "./every.mjs";

void startPage();
addEventListener("hashchange", () => void showSheet());
await showSheet();
