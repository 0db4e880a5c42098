/** The container labels: the language of the words around them, and the limits that the workshop holds more strictly. */
import { onWorkshop } from "../frame/app.mjs";
import { keepLanguage } from "../safety/language.mjs";
import { showLimits } from "../safety/limits.mjs";
import { startPage } from "./every.mjs";

keepLanguage(document.body);
onWorkshop(async () => showLimits(document));
await startPage();
