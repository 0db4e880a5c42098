// A classic script in the head: before the first paint it tells the style sheet whether the answers built into this page
// (the demo workshop's) may differ from the user's own, so that nobody sees somebody else's numbers for a moment.
(() => {
  const root = document.documentElement;
  root.dataset.js = "";
  try {
    if (localStorage.getItem("tarewell-own") || location.hash.length > 1) root.dataset.own = "";
    // Who reads a page in another language gets the emergency card in it too, unless both were chosen there.
    const { lang } = root;
    const shown = localStorage.getItem("tarewell-language");
    if (lang !== "en" && !shown?.includes('"both"')) localStorage.setItem("tarewell-language", JSON.stringify({ shown: lang }));
    root.dataset.units = localStorage.getItem("tarewell-units") || "metric";
  } catch {
    // Storage refused: then there is no own data either.
  }
})();
