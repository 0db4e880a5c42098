/**
 * While something is pressed the page stays as it is: an answer drawn between press and release would move what is pressed,
 * and the browser then makes no click of it.
 */

/** A browser that makes a click at all makes it within this after the release. [ms] */
const CLICK_COMES = 60;
/** A press whose end the page never hears of is over after this. [ms] */
const LONGEST = 1500;

/** @type {Promise<void> | null} */
let pressing = null;
/** @type {() => void} */
let end = () => {};

/** Resolves at once, or when what is pressed now has been let go and its click has been heard. */
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

/** The listeners of the click come first. */
const soon = () => void setTimeout(() => end());

addEventListener("pointerdown", begin, { capture: true });
addEventListener("pointerup", () => void setTimeout(() => end(), CLICK_COMES), { capture: true });
addEventListener("click", soon, { capture: true });
addEventListener("pointercancel", () => end(), { capture: true });
addEventListener("blur", () => end());
