// A classic script in the head: before the first paint it tells the style sheet whether this is practice (store/mode.mjs),
// and whether the answers built into this page (the demo workshop's) may differ from what will stand here, so that nobody
// sees somebody else's numbers for a moment.

// Python takes longest and needs nothing of the page, so its worker is asked for as soon as the first frame is there, which
// it would delay on a slow device; or by frame/python.mjs where that comes first. What is begun here, that takes over.
(() => {
  const { src } = /** @type {HTMLScriptElement} */ (document.currentScript);
  const begin = () => {
    // A page that is made ready unseen starts nothing.
    const unseen = /** @type {{prerendering?: boolean}} */ (document).prerendering === true;
    if (unseen || "tarewellEarly" in globalThis || typeof SharedWorker !== "function" || typeof WebAssembly === "undefined") return;
    try {
      const way = sessionStorage.getItem("tarewell-runtime") ?? "snapshot";
      const address = new URL("../worker/shared.mjs", src).href;
      const rules = {
        createScriptURL: (/** @type {string} */ asked) => {
          if (asked !== address) throw new TypeError(`A script that is not started here: ${asked}`);
          return asked;
        },
      };
      /** @type {any} */
      const page = globalThis;
      const policy = page.trustedTypes?.createPolicy("tarewell-early", rules) ?? rules;
      const shared = new SharedWorker(policy.createScriptURL(address), /** @type {any} */ ({ type: "module", name: way, extendedLifetime: true }));
      page.tarewellEarly = { way, shared, error: null };
      shared.onerror = (event) => (page.tarewellEarly.error = event);
    } catch {
      // Then frame/python.mjs tries, and says why.
    }
  };
  requestAnimationFrame(() => setTimeout(begin));
})();

(() => {
  const root = document.documentElement;
  root.dataset.js = "";
  const look = () => {
    // Made ready by the browser before anybody goes there: such a page stores nothing, and looks again when it is seen.
    const ahead = /** @type {{prerendering?: boolean}} */ (document).prerendering === true;
    if (ahead) document.addEventListener("prerenderingchange", look, { once: true });
    try {
      // A set-up is of one's own workshop, from whichever page somebody came, and a block to practice on of practice. Chosen
      // here, before anything starts: a page that opened itself anew would end Python in mid-start.
      const opens = location.hash === "#/practice" ? "practice" : root.dataset.opens;
      if (opens && !ahead) localStorage.setItem("tarewell-mode", opens);
      const chosen = opens || localStorage.getItem("tarewell-mode");
      const own = chosen ? chosen === "own" : Number(localStorage.getItem("tarewell-kept")) > 0;
      const name = own ? "tarewell" : "tarewell-practice";
      root.dataset.mode = own ? "own" : "practice";
      root.toggleAttribute("data-undecided", !chosen && !own);
      root.toggleAttribute("data-own", localStorage.getItem(`${name}-own`) !== null || location.hash.length > 1);
      // Practice goes by the workshop's units. At the very first start those of the region count that the device is set to.
      const kept = localStorage.getItem("tarewell-units") || localStorage.getItem(`${name}-units`);
      root.dataset.units = kept || (/-US\b/i.test(navigator.language) ? "us" : "metric");
      // The emergency card follows the language of the page that is read, unless both languages were chosen on the card. It
      // goes back to English where a page had set its language, not a choice, and where the reader came from a Spanish page
      // or has just opened the app. A page that stands in English alone is no sign: a Spanish reader comes through it too.
      if (ahead) return;
      const { lang } = root;
      const both = root.dataset.languages !== undefined;
      const held = JSON.parse(localStorage.getItem("tarewell-language") ?? "{}");
      const before = sessionStorage.getItem("tarewell-page") ?? "es";
      sessionStorage.setItem("tarewell-page", both ? lang : "en");
      if (both && (lang === "en" ? held.by_page && before === "es" : held.shown !== "both")) {
        localStorage.setItem("tarewell-language", JSON.stringify({ shown: lang, by_page: true }));
      }
    } catch {
      // Storage is refused. Then nothing of the user is kept here either.
    }
  };
  look();
})();
