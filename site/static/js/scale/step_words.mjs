/** @import { Step } from "../rules/types.mjs" */

/**
 * A step with its words in the page's language, where it was frozen with them; else as it is.
 *
 * @param {Step} step @returns {Step}
 */
export function inWords(step) {
  const words = document.documentElement.lang === "es" ? step.es : undefined;
  if (!words) return step;
  const { from_text, questions, ...texts } = words;
  return {
    ...step,
    ...texts,
    fine: step.fine && { ...step.fine, from_text: from_text ?? step.fine.from_text },
    questions: step.questions.map((question, n) => ({ ...question, text: questions[n] ?? question.text })),
  };
}
