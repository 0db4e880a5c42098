/** Starts the page that puts a batch on a rack: its address may name the block, "#CODE:2". */

import "../cure/racks.mjs";
import { startForms } from "../forms/start.mjs";
import { decoded } from "../frame/address.mjs";
import { startPage } from "./every.mjs";

await startForms(startPage);

const [code = "", block = ""] = decoded(location.hash.slice(1)).split(":");
for (const [name, text] of Object.entries({ code, block })) {
  const field = document.querySelector(`form[data-event] input[name="${name}"]`);
  if (block === "" || !(field instanceof HTMLInputElement)) continue;
  field.value = text;
  for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
}
