// A classic script in the head: before the first paint it tells the style sheet whether the answers built into this page
// (the demo workshop's) may differ from the user's own, so that nobody sees somebody else's numbers for a moment.
(() => {
  const root = document.documentElement;
  root.dataset.js = "";
  try {
    if (localStorage.getItem("tarewell-own") || location.hash.length > 1) root.dataset.own = "";
    root.dataset.units = localStorage.getItem("tarewell-units") || "metric";
    // The emergency card follows the language of the page that is read, unless both languages were chosen on the card. It
    // goes back to English where a page had set its language, not a choice, and where the reader came from a Spanish page
    // or has just opened the app. A page that stands in English alone is no sign: a Spanish reader comes through it too.
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
})();
