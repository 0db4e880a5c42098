/** @import { BlockFold, Step } from "./types.mjs" */

/*
 * Which steps stand on one screen. Each stays a step of its own, is told in full, and is stored by itself: whatever a kill
 * leaves out is asked again. Told by keys, so that sheets of every age are worked alike.
 */

/** What is looked over before the first pour. A tare between two pours guards the weighing behind it and stays alone. */
const LOOKED_OVER = /^(?:check:(?!tare-lye$)|mould:ready$)/;

/** What is done in one go: who ends the mixing sees trace; who has poured covers; a loaf is skimmed as it comes. */
const IN_ONE_GO = [["mix", "trace"], ["pour", "cover"], ["after:loaves", "after:skim"]];

/** @param {Step | undefined} step */
const isLookedOver = (step) => step?.kind === "confirm" && LOOKED_OVER.test(step.key);

/** The checks that stand on one screen with the step in hand, done ones included; none where it stands alone. @param {BlockFold} fold @returns {Step[]} */
export function checksTogether({ steps, index }) {
  if (!isLookedOver(steps[index])) return [];
  let [first, end] = [index, index + 1];
  while (isLookedOver(steps[first - 1])) first -= 1;
  while (isLookedOver(steps[end])) end += 1;
  return end - first > 1 ? steps.slice(first, end) : [];
}

/** The steps right behind the one in hand that are done in one go with it. @param {BlockFold} fold @returns {Step[]} */
export function doneTogether({ steps, index, done }) {
  const group = IN_ONE_GO.find(([first]) => first === steps[index]?.key) ?? [];
  return group.slice(1).flatMap((key, n) => {
    const step = steps[index + 1 + n];
    return step?.key === key && step.kind === "confirm" && !done.has(key) ? [step] : [];
  });
}

/** The block's last time, where it begins once the step in hand is done. @param {BlockFold} fold @param {(key: string) => boolean} isRunning @returns {Step | null} */
export function startsWith(fold, isRunning) {
  const last = fold.steps.at(-1);
  const next = fold.index + 1 + doneTogether(fold).length;
  const begins = last?.kind === "timer" && fold.steps[next] === last && fold.steps[fold.index]?.kind === "confirm" && !isRunning(last.key);
  return begins ? last : null;
}
