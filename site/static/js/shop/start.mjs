/** Keeps this phone together with the shop's others, from whatever page is open: one of the tabs has the connection. */

import { markChosen, markOwn } from "../frame/flags.mjs";
import { settled } from "../frame/python.mjs";
import { hold, onStored, onTold, takeOver, tellHere, tellOthers } from "../frame/tabs.mjs";
import { clock, utc } from "../store/clock.mjs";
import { mode } from "../store/mode.mjs";
import { readPhone } from "../store/shop.mjs";
import { onWord, say } from "./channel.mjs";
import { Engine } from "./engine.mjs";
import { connect, shopHere } from "./link.mjs";
import { store } from "./records.mjs";
import { keepTold, lastTold } from "./state.mjs";

/** @import { Word } from "./channel.mjs" */

const TAB = "shop-server";
/** The page's first answer comes first, but not for ever. [ms] */
const QUIET = 5_000;
/** How long the tab that has the connection may take to say so. [ms] */
const SILENCE = 2_000;
/** Pages show anew at most so often what came in. [ms] */
const SHOWN = 1_000;
/** How long scales are heard after the last tab has asked for them. [ms] */
const SCALES = 12_000;

/** Only while this tab has the connection. @type {Engine | null} */
let engine = null;
/** Ends what is begun in `begin`. @type {AbortController | null} */
let ends = null;

const isSeen = () => document.visibilityState === "visible";

const pause = (/** @type {number} */ ms, /** @type {Promise<void>} */ rung) =>
  new Promise((/** @type {(value: void) => void} */ resolve) => {
    const timer = setTimeout(resolve, ms);
    void rung.then(() => {
      clearTimeout(timer);
      resolve();
    });
  });

/** Whether it was shown just now, and whether more came in since. */
const shown = { now: false, more: false };

/** Some records are new: the other tabs, and this page, show them as if another tab had stored them. */
function show() {
  shown.more = shown.now;
  if (shown.now) return;
  markChosen();
  markOwn();
  tellOthers();
  tellHere();
  shown.now = true;
  setTimeout(() => {
    shown.now = false;
    if (shown.more) show();
  }, SHOWN);
}

/** @type {{end: () => void, timer: ReturnType<typeof setTimeout>} | null} */
let scales = null;

function hearScales() {
  const link = engine?.link;
  if (!link) return;
  clearTimeout(scales?.timer);
  const end = scales?.end ?? link.scales((reading) => say({ reading }));
  const timer = setTimeout(() => {
    scales = null;
    end();
  }, SCALES);
  scales = { end, timer };
}

/** @param {import("../store/shop.mjs").ShopPhone} phone */
async function linked(phone) {
  const link = await connect(phone);
  link.hear("told", () => say({ phones: true }));
  void link.closed.then(() => {
    clearTimeout(scales?.timer);
    scales = null;
  });
  return link;
}

/** Has the connection until the signal or another tab ends it. @param {AbortSignal} signal @param {() => void} release */
async function run(signal, release) {
  const mine = new Engine({
    store,
    connect: linked,
    elsewhere: async ({ shop }) => ((await shopHere().catch(() => null))?.shop ?? shop) !== shop,
    tell: (told) => {
      keepTold(told);
      say({ told, seen: isSeen() });
    },
    cameIn: show,
    pause,
    random: Math.random,
    now: () => utc(clock.now()),
    build: new URL("../..", import.meta.url).pathname,
  }, lastTold());
  engine = mine;
  signal.addEventListener("abort", () => mine.stop(), { once: true });
  await mine.run();
  if (engine === mine) engine = null;
  release();
}

/** Takes part in who has the connection, where this phone is paired. */
async function begin() {
  ends?.abort();
  const { signal } = (ends = new AbortController());
  if (!(await readPhone().catch(() => null)) || signal.aborted) return;
  const lost = () => {
    // Another tab that is looked at has taken it over.
    engine?.stop();
    engine = null;
    if (!signal.aborted) void waiting();
  };
  const had = (/** @type {(() => void) | null} */ release) => void (release && (signal.aborted ? release() : run(signal, release)));
  const waiting = async () => had(await hold(TAB, signal, lost));
  void waiting();
  /** A tab that nobody looks at may be asleep, and hold on to the connection all the same. */
  const look = async () => {
    if (engine || !isSeen()) return;
    const heard = await new Promise((/** @type {(is: boolean) => void} */ resolve) => {
      const end = onWord(({ told, seen }) => told && done(Boolean(seen)));
      const timer = setTimeout(() => done(false), SILENCE);
      const done = (/** @type {boolean} */ is) => {
        clearTimeout(timer);
        end();
        resolve(is);
      };
      say({ who: true });
    });
    if (!heard && !engine && isSeen() && !signal.aborted) had(await takeOver(TAB, lost));
  };
  document.addEventListener("visibilitychange", () => void look(), { signal });
  addEventListener("online", () => engine?.again(), { signal });
  document.addEventListener("visibilitychange", () => isSeen() && engine?.again(), { signal });
  void look();
}

/** @param {Word} word */
function heard({ who, changed, scales: wanted, question }) {
  if (changed) void begin();
  if (who) engine?.tell();
  if (wanted) hearScales();
  if (question && engine) void answer(question);
}

/** @param {NonNullable<Word["question"]>} question */
async function answer({ id, subject, body }) {
  const reply = await engine?.link?.ask(subject, body).catch(() => null);
  say({ answer: { id, reply: reply ?? null } });
}

/** Called by every page once it has been read. Does nothing where this phone isn't paired, nor in practice. */
export function startShop() {
  if (mode !== "own") return;
  onWord(heard);
  onStored(() => engine?.stored());
  onTold(() => engine?.stored());
  // A page that goes away lets go of it at once; one that comes back takes part again.
  addEventListener("pagehide", () => ends?.abort());
  addEventListener("pageshow", (event) => void (event.persisted && begin()));
  void Promise.race([settled, new Promise((resolve) => setTimeout(resolve, QUIET))]).then(begin);
}
