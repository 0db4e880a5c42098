import { ownWords } from "./own_words.mjs";
import { ownValues } from "./shop.mjs";

/** @import { Required } from "../rules/training.mjs" */
/** @import { OwnPoint, OwnWords, Values } from "../rules/types.mjs" */

/** The most points between two pauses: Boorman's advice as told by Gawande, The Checklist Manifesto (2009), ch. 6. */
const MOST = 9;

/** @param {string} name @returns {HTMLTemplateElement | null} */
export const templateOf = (name) => document.querySelector(`template[data-screen="${CSS.escape(name)}"]`);

/** The words that stand in one of the page's templates, in both languages. @param {string} selector */
export function wordsIn(selector) {
  const template = document.querySelector(selector);
  return template instanceof HTMLTemplateElement ? document.importNode(template.content, true) : new DocumentFragment();
}

/** A phase's name. @param {string} phase */
export const phaseName = (phase) => wordsIn(`template[data-phase="${CSS.escape(phase)}"]`);

/** A point of the maker's own as the walk holds it; of another build's point its key is all that is known. @param {string} point @param {OwnPoint[]} own @returns {OwnPoint} */
export const ownPoint = (point, own) => own.find(({ key }) => key === point) ?? { key: point, phase: "", what: point };

/** The heading of a point; its key where it is of another build. @param {string} point @param {OwnPoint[]} [own] */
export function pointName(point, own = []) {
  const heading = templateOf(point)?.content.querySelector("h2, h3");
  const name = new DocumentFragment();
  if (heading) name.append(...[...heading.childNodes].map((node) => node.cloneNode(true)));
  else name.append(...ownWords(ownPoint(point, own), "what"));
  return name;
}

/** Every built-in point by its phase, what is to be said back included, as of this build's tables. @returns {Required} */
export const required = () =>
  Object.fromEntries(
    [...document.querySelectorAll(/** @type {"template"} */ ("template[data-phase]"))].map(({ dataset }) => [
      dataset.phase ?? "", (dataset.points ?? "").split(" "),
    ]),
  );

/** The points of the daily check, as of this build's tables. */
export const dailyPoints = () =>
  (/** @type {HTMLElement | null} */ (document.querySelector("template[data-daily-points]"))?.dataset.dailyPoints ?? "").split(" ");

/** The points whose "no" nobody can put right on its day. */
export const lasting = () =>
  [...document.querySelectorAll(/** @type {"template"} */ ("template[data-other-day]"))].map(({ dataset }) =>
    (dataset.screen ?? "").replace(/\/stop$/, ""),
  );

/** The points of walk and daily check whose "no" keeps everybody from lye. */
export const placePoints = () =>
  [...document.querySelectorAll(/** @type {"template"} */ ("template[data-place-point]"))].map(({ dataset }) => dataset.placePoint ?? "");

/** What the maker has added, in the form in which a walk freezes it: each language in which it is whole. @returns {OwnPoint[]} */
function ownPoints() {
  const values = ownValues();
  const rows = [...new Set(Object.keys(values).flatMap((name) => /^own\.(\d+)\./.exec(name)?.[1] ?? []))];
  return rows.sort((a, b) => Number(a) - Number(b)).flatMap((row) => pointOfRow(values, row));
}

/** @param {Values} values @param {string} row @returns {OwnPoint[]} none where it is whole in no language */
function pointOfRow(values, row) {
  const value = (/** @type {string} */ part) => (values[`own.${row}.${part}`] ?? "").trim();
  /** @param {string} ending @returns {OwnWords | undefined} */
  const said = (ending) => {
    const [what, question, stop] = ["what", "question", "stop"].map((part) => value(part + ending));
    return what && question && stop ? { what, question, stop } : undefined;
  };
  const [first, es] = [said(""), said("_es")];
  if (!first && !es) return [];
  const point = { key: `own:${row}`, phase: value("phase") };
  // Stored before the form had two languages: nobody knows in which it is.
  if (first && values[`own.${row}.what_es`] === undefined) return [{ ...point, ...first }];
  return [{ ...point, ...(first ? { en: first } : {}), ...(es ? { es } : {}) }];
}

/** All that is asked in these phases, in order: the built-in points, then the maker's own. @param {string[]} phases */
export function pointsOf(phases) {
  const own = ownPoints().filter(({ phase }) => phases.includes(phase));
  const all = required();
  const by_phase = Object.fromEntries(
    phases.map((phase) => [phase, [...(all[phase] ?? []), ...own.filter((each) => each.phase === phase).map(({ key }) => key)]]),
  );
  return { points: Object.values(by_phase).flat(), by_phase, own };
}

/** Which pause a point stands before. @param {string} point @param {OwnPoint[]} own */
export function groupOf(point, own) {
  const builtIn = templateOf(point.replace(/\/teach$/, ""))?.dataset.group;
  if (builtIn) return builtIn;
  const phase = own.find(({ key }) => key === point)?.phase;
  const mates = own.filter((each) => each.phase === phase);
  const at = mates.findIndex(({ key }) => key === point);
  return `${phase}/own/${Math.floor((Math.max(at, 0) * Math.ceil(mates.length / MOST)) / Math.max(mates.length, 1))}`;
}
