// A classic script by itself: the card must do without modules, storage and Python. It fills in the workshop's own number
// and place, and counts the rinsing by the clock on the wall, so that sleep and reloads change nothing.
(() => {
  const MINUTE = 60_000;
  /** This long after the least time an opened card is another accident: its time begins anew, never half over. */
  const FRESH = 30 * MINUTE;

  /** @param {string} key @returns {Record<string, any>} */
  const read = (key) => {
    try {
      const held = JSON.parse(localStorage.getItem(key) ?? "{}");
      return typeof held === "object" && held !== null ? held : {};
    } catch {
      return {};
    }
  };

  /** @param {string} key @param {unknown} value */
  const write = (key, value) => {
    try {
      localStorage.setItem(key, JSON.stringify(value));
    } catch {
      // Then it holds for as long as the page is open.
    }
  };

  /** @param {string} selector @param {ParentNode} [within] */
  const all = (selector, within = document) => /** @type {HTMLElement[]} */ ([...within.querySelectorAll(selector)]);

  /** @param {HTMLElement} box @param {string} selector */
  const one = (box, selector) => /** @type {HTMLElement} */ (box.querySelector(selector));

  const fillPlace = () => {
    const place = read("tarewell-safety");
    for (const name of ["emergency_number", "address", "poison_centre", "eyewash"]) {
      const value = typeof place[name] === "string" ? place[name].trim() : "";
      for (const each of all(`[data-fill="${name}"]`)) each.textContent = value;
      for (const each of all(`[data-filled="${name}"]`)) each.hidden = value === "";
      for (const each of all(`[data-unfilled="${name}"]`)) each.hidden = value !== "";
      const dialled = value.replace(/[^\d+*#]/g, "");
      for (const each of all(`a[data-call="${name}"]`)) {
        if (dialled) each.setAttribute("href", `tel:${dialled}`);
        else each.removeAttribute("href");
      }
    }
  };

  /** @type {Record<string, number>} */
  let begun = read("tarewell-flush");

  const two = (/** @type {number} */ number) => String(number).padStart(2, "0");

  /** When this rinsing began; nothing once it is long over, or where the clock was set back behind it. @param {HTMLElement} box */
  const sinceOf = (box) => {
    const since = begun[box.dataset.flush ?? ""];
    if (typeof since !== "number" || since > Date.now()) return null;
    return Date.now() > since + Number(box.dataset.minutes) * MINUTE + FRESH ? null : since;
  };

  /** @param {HTMLElement} box */
  const show = (box) => {
    const since = sinceOf(box);
    const running = since !== null;
    one(box, "[data-flush-running]").hidden = !running;
    one(box, "[data-flush-still]").hidden = running;
    if (!running) return;
    const left = Math.max(0, Math.ceil((since + Number(box.dataset.minutes) * MINUTE - Date.now()) / 1000));
    const at = new Date(since);
    one(box, "[data-flush-left]").textContent = `${Math.floor(left / 60)}:${two(left % 60)}`;
    one(box, "[data-flush-since]").textContent = `${two(at.getHours())}:${two(at.getMinutes())}`;
    // Only a change is spoken.
    if (one(box, "[data-flush-over]").hidden !== left > 0) one(box, "[data-flush-over]").hidden = left > 0;
  };

  /** @param {HTMLElement} box */
  const start = (box) => {
    begun = { ...read("tarewell-flush"), [box.dataset.flush ?? ""]: Date.now() };
    write("tarewell-flush", begun);
    show(box);
  };

  const boxes = all("[data-flush]");

  /** The opened card's time runs from the moment it was opened. */
  const opened = () => {
    const box = boxes.find((each) => `#${each.dataset.flush}` === location.hash);
    if (!box) return;
    if (sinceOf(box) === null) start(box);
    else show(box);
  };

  const language = () => {
    const wanted = read("tarewell-language").shown;
    for (const each of document.querySelectorAll(/** @type {"input"} */ ('input[name="language"]'))) {
      if (each.value === wanted) each.checked = true;
      each.addEventListener("change", () => write("tarewell-language", { shown: each.value }));
    }
  };

  /** Shown from the day after the last day that a check held, on the device's own calendar. */
  const eyewash = () => {
    const from = read("tarewell-eyewash").overdue_from;
    const now = new Date();
    const today = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    for (const each of all("[data-eyewash-overdue]")) each.hidden = !(typeof from === "string" && from <= today);
  };

  for (const box of boxes) {
    one(box, "[data-flush-again]").addEventListener("click", () => start(box));
    show(box);
  }
  fillPlace();
  language();
  eyewash();
  opened();
  addEventListener("hashchange", opened);
  // A second tap on the same tile changes no address.
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest('a[href^="#"]')) setTimeout(opened);
  });
  addEventListener("storage", () => {
    begun = read("tarewell-flush");
    fillPlace();
    boxes.forEach(show);
  });
  setInterval(() => boxes.forEach(show), 500);
  document.addEventListener("visibilitychange", () => boxes.forEach(show));
})();
