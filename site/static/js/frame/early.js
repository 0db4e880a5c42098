// A classic script in the head: before the first paint it tells the style sheet whether the answers built into this page
// (the demo workshop's) may differ from the user's own, so that nobody sees somebody else's numbers for a moment.
(() => {
  const root = document.documentElement;
  root.dataset.js = "";
  try {
    if (localStorage.getItem("tarewell-own") || location.hash.length > 1) root.dataset.own = "";
    root.dataset.units = localStorage.getItem("tarewell-units") || "metric";
    // Who reads a page in one of its languages gets the emergency card in that one too, unless both were chosen there. Back
    // to English it goes only from what a page had set, where the app is opened in English or left Spanish for it: a page
    // that stands in English alone leads to English ones too, and says nothing of who reads.
    const { lang } = root;
    const both = root.dataset.languages !== undefined;
    const held = JSON.parse(localStorage.getItem("tarewell-language") ?? "{}");
    const before = sessionStorage.getItem("tarewell-page") ?? "es";
    sessionStorage.setItem("tarewell-page", both ? lang : "en");
    if (both && (lang === "en" ? held.by_page && before === "es" : held.shown !== "both")) {
      localStorage.setItem("tarewell-language", JSON.stringify({ shown: lang, by_page: true }));
    }
  } catch {
    // Storage refused: then there is no own data either.
  }
})();
