import { app } from "../app.mjs";

/** @import { OwnPoint } from "../../store/types.mjs" */

/** @param {string} name @returns {HTMLTemplateElement | null} */
export const templateOf = (name) => document.querySelector(`template[data-screen="${CSS.escape(name)}"]`);

/** A phase's name in both languages. @param {string} phase */
export function phaseName(phase) {
  const template = document.querySelector(`template[data-phase="${CSS.escape(phase)}"]`);
  return template instanceof HTMLTemplateElement ? document.importNode(template.content, true) : new DocumentFragment();
}

/** What the maker has added, in the form in which a walk freezes it. @returns {OwnPoint[]} */
function ownPoints() {
  const values = app.state.safety?.[0]?.values ?? {};
  const rows = [...new Set(Object.keys(values).flatMap((name) => /^own\.(\d+)\./.exec(name)?.[1] ?? []))];
  return rows.sort((a, b) => Number(a) - Number(b)).map((row) => {
    const value = (/** @type {string} */ part) => values[`own.${row}.${part}`] ?? "";
    return { key: `own:${row}`, phase: value("phase"), what: value("what"), question: value("question"), stop: value("stop") };
  });
}

/** All that is asked in these phases, in order: the built-in points, what is to be said back, then the maker's own. @param {string[]} phases */
export function pointsOf(phases) {
  const added = ownPoints().filter(({ phase }) => phases.includes(phase));
  const points = phases.flatMap((phase) => [
    ...[...document.querySelectorAll(/** @type {"template"} */ (`template[data-of="${CSS.escape(phase)}"]`))].flatMap(
      ({ dataset }) => (dataset.teach === undefined ? [dataset.screen ?? ""] : [dataset.screen ?? "", `${dataset.screen}/teach`]),
    ),
    ...added.filter((each) => each.phase === phase).map(({ key }) => key),
  ]);
  return { points, own: added };
}

/** Which pause a point stands before. @param {string} point @param {OwnPoint[]} own */
export const groupOf = (point, own) =>
  templateOf(point.replace(/\/teach$/, ""))?.dataset.group ?? `${own.find(({ key }) => key === point)?.phase}/own`;
