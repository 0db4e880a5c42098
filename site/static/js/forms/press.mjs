/**
 * While something is pressed the page stays as it is. An answer drawn between press and release would move what is pressed,
 * and the browser would make no click of it.
 */

/** After a release its click comes within this time, or not at all. [ms] */
const CLICK_COMES = 60;
/** A press whose release the page never hears of counts as over after this. [ms] */
const LONGEST = 1500;

/** @type {Promise<void> | null} */
let pressing = null;
/** @type {() => void} */
let end = () => {};

/** Resolves at once where nothing is pressed, else after the release and its click. */
export const released = () => pressing ?? Promise.resolve();

function begin() {
  end();
  pressing = new Promise((resolve) => {
    const forgotten = setTimeout(() => end(), LONGEST);
    end = () => {
      clearTimeout(forgotten);
      pressing = null;
      end = () => {};
      resolve();
    };
  });
}

/** Whoever listens for the click is called first. */
const soon = () => void setTimeout(() => end());

addEventListener("pointerdown", begin, { capture: true });
addEventListener("pointerup", () => void setTimeout(() => end(), CLICK_COMES), { capture: true });
addEventListener("click", soon, { capture: true });
addEventListener("pointercancel", () => end(), { capture: true });
addEventListener("blur", () => end());
