// A classic script in the head: before the first paint it tells the style sheet whether the answers built into this page
// (the demo workshop's) may differ from the user's own, so that nobody sees somebody else's numbers for a moment.
(() => {
  const root = document.documentElement;
  root.dataset.js = "";
  try {
    if (localStorage.getItem("tarewell-own") || location.hash.length > 1) root.dataset.own = "";
    root.dataset.units = localStorage.getItem("tarewell-units") || "metric";
  } catch {
    // Storage refused: then there is no own data either.
  }
})();
