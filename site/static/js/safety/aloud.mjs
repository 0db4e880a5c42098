/** Reads a screen aloud in the language that is shown, where the device has a voice of its own for it. */

/** @param {string} language */
const voiceOf = (language) =>
  globalThis.speechSynthesis?.getVoices().find((voice) => voice.localService && voice.lang.startsWith(language));

/** The languages that stand on the page now. @param {HTMLElement} root */
const shown = (root) =>
  ["en", "es"].filter((language) => [...root.querySelectorAll(`.${language}`)].some((each) => each.getClientRects().length > 0));

/** Nothing is read on once its screen has gone. */
export const hush = () => globalThis.speechSynthesis?.cancel();

/**
 * What is read of a screen in one of the languages shown, piece by piece. What the maker wrote in another language only is
 * read as that language; once, where that one is shown too.
 *
 * @param {HTMLElement} stage @param {string} language @param {string[]} languages
 * @returns {{language: string, text: string}[]}
 */
function pieces(stage, language, languages) {
  const parts = [...stage.querySelectorAll("[data-aloud]:not([hidden])")].flatMap((each) => {
    const marked = [...each.querySelectorAll(/** @type {"span"} */ (`.${language}, [data-slot], [data-said]`))];
    return marked.length > 0 ? marked : [/** @type {HTMLElement} */ (each)];
  });
  /** @type {{language: string, text: string}[]} */
  const found = [];
  for (const { lang, textContent } of parts) {
    const spoken = lang || language;
    if (spoken !== language && languages.includes(spoken)) continue;
    const last = found.at(-1);
    if (last?.language === spoken) last.text += `${/[.:?!]\s*$/.test(last.text) ? "" : "."} ${textContent}`;
    else found.push({ language: spoken, text: textContent ?? "" });
  }
  return found;
}

/** @param {{language: string, text: string}} piece */
function speak({ language, text }) {
  const voice = voiceOf(language);
  if (!voice) return;
  const speech = new SpeechSynthesisUtterance(text);
  speech.voice = voice;
  speech.lang = voice.lang;
  speechSynthesis.speak(speech);
}

/** @param {HTMLElement} root @param {HTMLElement} stage @param {HTMLElement} button */
export function watchAloud(root, stage, button) {
  const show = () => (button.hidden = stage.hidden || !shown(root).some(voiceOf));
  button.addEventListener("click", () => {
    hush();
    const languages = shown(root);
    for (const language of languages) for (const piece of pieces(stage, language, languages)) speak(piece);
  });
  root.addEventListener("change", show);
  globalThis.speechSynthesis?.addEventListener?.("voiceschanged", show);
  show();
  return show;
}
