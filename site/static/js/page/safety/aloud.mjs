/** Reads a screen aloud in the language that is shown, where the device has a voice of its own for it. */

/** @param {string} language */
const voiceOf = (language) =>
  globalThis.speechSynthesis?.getVoices().find((voice) => voice.localService && voice.lang.startsWith(language));

/** The languages that stand on the page now. @param {HTMLElement} root */
const shown = (root) =>
  ["en", "es"].filter((language) => [...root.querySelectorAll(`.${language}`)].some((each) => each.getClientRects().length > 0));

/** Nothing is read on once its screen has gone. */
export const hush = () => globalThis.speechSynthesis?.cancel();

/** @param {HTMLElement} root @param {HTMLElement} stage @param {HTMLElement} button */
export function watchAloud(root, stage, button) {
  const show = () => (button.hidden = stage.hidden || !shown(root).some(voiceOf));
  button.addEventListener("click", () => {
    hush();
    for (const language of shown(root)) {
      const voice = voiceOf(language);
      if (!voice) continue;
      // What the maker has written stands in one language, without a mark.
      const texts = [...stage.querySelectorAll("[data-aloud]")].flatMap((each) => {
        const marked = [...each.querySelectorAll(`.${language}, [data-slot]`)];
        return marked.length > 0 ? marked : [each];
      });
      const speech = new SpeechSynthesisUtterance(texts.map(({ textContent }) => textContent).join(". "));
      speech.voice = voice;
      speech.lang = voice.lang;
      speechSynthesis.speak(speech);
    }
  });
  root.addEventListener("change", show);
  globalThis.speechSynthesis?.addEventListener?.("voiceschanged", show);
  show();
  return show;
}
