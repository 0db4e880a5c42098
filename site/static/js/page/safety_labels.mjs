/** The container labels: the language of the words around them. */
import { keepLanguage } from "./safety/language.mjs";

keepLanguage(document.body);
