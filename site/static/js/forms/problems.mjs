import { word } from "../frame/words.mjs";

/** @import { Problem } from "../frame/app.mjs" */

/** @param {HTMLFormElement} form @param {string} name @returns {HTMLElement | null} */
function controlOf(form, name) {
  const found = name === "" ? null : form.elements.namedItem(name);
  const control = found instanceof RadioNodeList ? found[0] : found;
  return control instanceof HTMLElement && !control.closest("[hidden]") ? control : null;
}

/** @param {HTMLFormElement} form @param {string} name */
const lineOf = (form, name) => {
  const line = form.querySelector(`[data-problem="${CSS.escape(name)}"]`);
  return line instanceof HTMLElement && !line.parentElement?.closest("[hidden]") ? line : null;
};

/** @param {HTMLFormElement} form */
export function clearProblems(form) {
  for (const line of form.querySelectorAll(/** @type {"p"} */ ("[data-problem]"))) {
    line.hidden = true;
    line.textContent = "";
  }
  for (const marked of form.querySelectorAll("[aria-invalid]")) marked.removeAttribute("aria-invalid");
  for (const marked of form.querySelectorAll("[data-invalid]")) marked.removeAttribute("data-invalid");
}

/** @param {HTMLFormElement} form @returns {HTMLElement | null} */
const summaryOf = (form) => form.querySelector("[data-problems]");

/**
 * Shows each problem beside its field, and in the summary those that have no field on the page.
 *
 * @param {HTMLFormElement} form
 * @param {Problem[]} problems
 * @param {{submitted: boolean, focus: boolean, touched: Set<string>}} options  Before the first try to save, only fields
 *   that the user has left are marked, so that an empty form is not red all over.
 */
export function showProblems(form, problems, { submitted, focus, touched }) {
  clearProblems(form);
  /** @type {Problem[]} */
  const homeless = [];
  for (const problem of problems) {
    const askedBack = form.querySelector(/** @type {"div"} */ (`[data-asked-back][data-field="${CSS.escape(problem.field)}"]`));
    if (askedBack) askedBack.hidden = false;
    const line = lineOf(form, problem.field);
    // A fold that hides what is missing is opened, also before anything is marked.
    line?.closest("details")?.setAttribute("open", "");
    if (!line) {
      homeless.push(problem);
    } else if (submitted || touched.has(problem.field)) {
      line.textContent = `${line.textContent} ${problem.message} ${problem.remedy}`.trim();
      line.hidden = false;
      controlOf(form, problem.field)?.setAttribute("aria-invalid", "true");
      line.closest("[data-field]")?.setAttribute("data-invalid", "");
    }
  }
  summarise(form, submitted ? problems : touched.size > 0 ? homeless : [], focus);
}

/** @param {HTMLFormElement} form @param {Problem[]} problems @param {boolean} focus */
function summarise(form, problems, focus) {
  const summary = summaryOf(form);
  if (!summary) return;
  summary.replaceChildren();
  summary.hidden = problems.length === 0;
  if (problems.length === 0) return;
  const heading = document.createElement("h2");
  heading.textContent = word("problems-heading", { n: problems.length });
  const list = document.createElement("ul");
  list.append(...problems.map((problem) => entry(form, problem)));
  summary.append(heading, list);
  if (focus) summary.focus();
}

/** @param {HTMLFormElement} form @param {Problem} problem */
function entry(form, problem) {
  const line = document.createElement("li");
  const text = `${problem.message} ${problem.remedy}`;
  const control = controlOf(form, problem.field) ?? lineOf(form, problem.field)?.parentElement?.querySelector("input, select");
  if (!(control instanceof HTMLElement) || !control.id) {
    line.textContent = text;
    return line;
  }
  const link = document.createElement("a");
  link.href = `#${control.id}`;
  link.textContent = text;
  // The address's #part names the item being edited, so the link must not change it.
  link.addEventListener("click", (event) => {
    event.preventDefault();
    control.focus();
  });
  line.append(link);
  return line;
}
