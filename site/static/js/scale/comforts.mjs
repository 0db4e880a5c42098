import { word } from "../frame/words.mjs";

/** Sound, vibration and reading aloud: off until wanted. What is remembered here is a comfort, no record. */

const KEY = "tarewell-scale-comforts";

/** @returns {Record<string, boolean>} */
function remembered() {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? "{}");
  } catch {
    return {};
  }
}

const wanted = remembered();

/** Only a voice of this device: others would send the text over the network. */
const localVoice = () =>
  globalThis.speechSynthesis?.getVoices().find((voice) => voice.localService && voice.lang.startsWith(document.documentElement.lang));

let said = "";

/** Says a text once, however often its screen is drawn. @param {string} text */
export function sayAloud(text) {
  const voice = wanted.aloud ? localVoice() : undefined;
  if (!voice || text === said) return;
  said = text;
  const speech = new SpeechSynthesisUtterance(text);
  speech.voice = voice;
  speech.lang = voice.lang;
  speechSynthesis.cancel();
  speechSynthesis.speak(speech);
}

/** @type {AudioContext | undefined} */
let audio;

/** One short sign for "stored", a long one for "look": @param {"stored" | "look"} kind */
export function signal(kind) {
  const long = kind === "look";
  if (wanted.vibration) navigator.vibrate?.(long ? [300, 150, 300] : 60);
  if (!wanted.sound || typeof AudioContext === "undefined") return;
  audio ??= new AudioContext();
  void audio.resume();
  const tone = audio.createOscillator();
  const volume = audio.createGain();
  volume.gain.value = 0.2;
  tone.frequency.value = long ? 440 : 880;
  tone.connect(volume).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + (long ? 0.8 : 0.12));
}

/** @param {ParentNode} root */
export function watchComforts(root) {
  const buttons = [...root.querySelectorAll(/** @type {"button"} */ ("[data-comfort]"))];
  const show = () => {
    for (const button of buttons) {
      const name = button.dataset.comfort ?? "";
      button.setAttribute("aria-pressed", String(wanted[name] === true));
      if (name === "aloud") button.hidden = !localVoice();
      if (name === "vibration") button.hidden = !("vibrate" in navigator);
    }
  };
  for (const button of buttons) {
    button.addEventListener("click", () => {
      const name = button.dataset.comfort ?? "";
      wanted[name] = !wanted[name];
      try {
        localStorage.setItem(KEY, JSON.stringify(wanted));
      } catch {
        // Not stored: the choice then holds until the page is left.
      }
      show();
      if (wanted[name]) signal("stored");
      if (name === "aloud") sayAloud(word("read-aloud-on"));
    });
  }
  globalThis.speechSynthesis?.addEventListener?.("voiceschanged", show);
  show();
}
