// A classic script by itself: the card must do without modules, storage and Python. It fills in the workshop's own number
// and place, and counts the rinsing by the clock on the wall, so that sleep and reloads change nothing.
(() => {
  const MINUTE = 60_000;
  /** A card that comes into sight again this long after its time was over is about another accident. */
  const FRESH = 30 * MINUTE;
  /** Between two ticks clocks may differ by this much without anybody having changed one. */
  const SLACK = 2000;
  /** One number and nothing else, as in calc/workshop/safety_place.py: of two numbers the digits alone would dial a third. */
  const ONE_NUMBER = /^(?!\+.*\(0\))\+?[\d(][\d ()-]*\d$/;

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

  const two = (/** @type {number} */ number) => String(number).padStart(2, "0");

  const fillPlace = () => {
    const place = read("tarewell-safety");
    for (const name of ["emergency_number", "address", "poison_centre", "eyewash"]) {
      const value = typeof place[name] === "string" ? place[name].trim() : "";
      for (const each of all(`[data-fill="${name}"]`)) each.textContent = value;
      for (const each of all(`[data-filled="${name}"]`)) each.hidden = value === "";
      for (const each of all(`[data-unfilled="${name}"]`)) each.hidden = value !== "";
      for (const each of all(`a[data-call="${name}"]`)) {
        if (ONE_NUMBER.test(value)) each.setAttribute("href", `tel:${value.replace(/[^\d+]/g, "")}`);
        else each.removeAttribute("href");
      }
    }
  };

  /** When the rinsing began, by card: the time that counts down, and the first of this accident, which rescuers ask for.
   * @type {Record<string, number>} */
  let begun = read("tarewell-flush");
  /** @type {Record<string, number>} */
  let first = read("tarewell-flush-first");
  const boxes = all("[data-flush]");
  const keyOf = (/** @type {HTMLElement} */ box) => box.dataset.flush ?? "";
  /** A workshop may ask for a longer rinse than is built in, never for a shorter one; the most as in calc/workshop/safety_place.py. */
  const LONGEST = 120;

  /** What the workshop asks for; 0 where that is not longer. @param {number} builtIn [min] */
  const ownMinutes = (builtIn) => {
    const own = Number(String(read("tarewell-safety").flush_minutes ?? "").trim().replace(",", "."));
    return Number.isInteger(own) && own > builtIn && own <= LONGEST ? own : 0;
  };

  /** The workshop's own time is for caustic alone: a burn by heat that is cooled for longer only chills the person. */
  const leastOf = (/** @type {HTMLElement} */ box) => {
    const builtIn = Number(box.dataset.minutes);
    return ((box.dataset.timed === "flush" && ownMinutes(builtIn)) || builtIn) * MINUTE;
  };

  const fillLimits = () => {
    // Before any time runs, and on paper: the minutes that hold here.
    for (const box of boxes) one(box, "[data-flush-still] strong").textContent = String(leastOf(box) / MINUTE);
    for (const line of all("[data-limit]")) {
      const own = ownMinutes(JSON.parse(line.dataset.builtIn ?? "[]")[0]?.[2] ?? Infinity);
      line.hidden = own === 0;
      for (const each of all("[data-said]", line)) each.textContent = String(own);
    }
  };

  /** Whether a time that is held may still be this accident's. @param {HTMLElement} box @param {number} since */
  const fresh = (box, since) => since <= Date.now() && Date.now() <= since + leastOf(box) + FRESH;

  const sinceOf = (/** @type {HTMLElement} */ box) => begun[keyOf(box)] ?? NaN;

  const clock = (/** @type {number} */ time) => {
    const at = new Date(time);
    return `${two(at.getHours())}:${two(at.getMinutes())}`;
  };

  const openBox = () => boxes.find((each) => `#${keyOf(each)}` === location.hash);

  /** @param {HTMLElement} box */
  const show = (box) => {
    const since = sinceOf(box);
    // In the open card a running time never disappears.
    const running = fresh(box, since) || (box === openBox() && since <= Date.now());
    one(box, "[data-flush-running]").hidden = !running;
    one(box, "[data-flush-still]").hidden = running;
    if (!running) return;
    const left = Math.max(0, Math.ceil((since + leastOf(box) - Date.now()) / 1000));
    one(box, "[data-flush-left]").textContent = `${Math.floor(left / 60)}:${two(left % 60)}`;
    one(box, "[data-flush-since]").textContent = clock(since);
    const earlier = first[keyOf(box)] ?? since;
    one(box, "[data-flush-first]").textContent = clock(earlier);
    one(box, "[data-flush-earlier]").hidden = clock(earlier) === clock(since);
    // Only a change is spoken.
    if (one(box, "[data-flush-over]").hidden !== left > 0) one(box, "[data-flush-over]").hidden = left > 0;
  };

  /** @param {HTMLElement} box @param {number} [since] @param {boolean} [clockChanged] */
  const start = (box, since = Date.now(), clockChanged = false) => {
    const key = keyOf(box);
    const earlier = first[key] ?? sinceOf(box);
    begun = { ...read("tarewell-flush"), [key]: since };
    // A clock that was changed says nothing about what was before.
    first = { ...read("tarewell-flush-first"), [key]: !clockChanged && fresh(box, earlier) ? earlier : since };
    write("tarewell-flush", begun);
    write("tarewell-flush-first", first);
    one(box, "[data-flush-changed]").hidden = !clockChanged;
    show(box);
  };

  /** Begins anew where the time that is held can't be this accident's: none, long over, or not yet come. @param {HTMLElement} box */
  const keep = (box) => {
    const since = sinceOf(box);
    if (since > Date.now()) start(box, Date.now(), true);
    else if (!fresh(box, since)) start(box);
    else show(box);
  };

  /** Whoever opens a card has a new accident, however recently it was read. Rinsing too long is the safe mistake. */
  const opened = () => {
    const box = openBox();
    if (box) start(box);
    document.getElementById(`${location.hash.slice(1)}-heading`)?.focus({ preventScroll: true });
  };

  let wall = Date.now();
  let steady = performance.now();
  let unseen = false;

  /** The clock may be changed while somebody rinses. Then whatever leaves the longer time counts. A device that slept was out
   * of sight, and its clock is right. */
  const tick = () => {
    const jump = Date.now() - wall - (performance.now() - steady);
    wall = Date.now();
    steady = performance.now();
    const slept = unseen;
    unseen = document.hidden;
    if (today() !== toldOn) eyewash();
    const box = openBox();
    for (const each of boxes) if (each !== box) show(each);
    if (!box) return;
    const since = Number(begun[keyOf(box)]) || 0;
    if (since > Date.now()) start(box, Date.now(), true);
    else if (jump > SLACK && !slept) start(box, Math.min(since + jump, Date.now()), true);
    else show(box);
  };

  /** For speech, and for the words of the frame. @param {string} shown */
  const tell = (shown) => {
    document.documentElement.lang = shown === "es" ? "es" : "en";
    dispatchEvent(new Event("tarewell-language"));
  };

  const language = () => {
    const wanted = read("tarewell-language").shown;
    tell(wanted);
    for (const each of document.querySelectorAll(/** @type {"input"} */ ('input[name="language"]'))) {
      if (each.value === wanted) each.checked = true;
      each.addEventListener("change", () => {
        write("tarewell-language", { shown: each.value });
        tell(each.value);
      });
    }
  };

  const today = () => {
    const now = new Date();
    return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  };

  /** The day for which the line about the eyewash was last chosen. */
  let toldOn = "";

  /** A check of which nothing is known was never made. Whether one is overdue goes by the device's own calendar. */
  const eyewash = () => {
    const { state = "never", overdue_from: from = "" } = read("tarewell-eyewash");
    toldOn = today();
    const loud = state === "held" && from && from <= toldOn ? "over" : state;
    for (const each of all("[data-eyewash-loud]")) each.hidden = each.dataset.eyewashLoud !== loud;
  };

  const mirrored = () => {
    fillPlace();
    fillLimits();
    eyewash();
  };

  boxes.forEach(show);
  mirrored();
  language();
  for (const button of all("[data-print-card]")) {
    button.hidden = false;
    button.addEventListener("click", () => print());
  }
  const begin = () => {
    const [visit] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType("navigation"));
    const box = openBox();
    if (box && visit?.type === "reload") keep(box);
    else opened();
    setInterval(tick, 500);
  };
  // While an address is typed a browser may make its page ready: then nobody has opened a card yet.
  if (/** @type {{prerendering?: boolean}} */ (document).prerendering) document.addEventListener("prerenderingchange", begin, { once: true });
  else begin();
  addEventListener("hashchange", opened);
  // A second tap on the same tile changes no address.
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element ? event.target.closest('a[href^="#"]') : null;
    if (link?.getAttribute("href") === location.hash) opened();
  });
  // The browser's Back button has brought the page back as it was.
  addEventListener("pageshow", (event) => {
    if (event.persisted) opened();
  });
  addEventListener("storage", () => {
    begun = read("tarewell-flush");
    first = read("tarewell-flush-first");
    boxes.forEach(show);
    mirrored();
  });
  addEventListener("tarewell-mirror", mirrored);
  document.addEventListener("visibilitychange", () => {
    unseen = true;
    const open = openBox();
    if (!document.hidden && open) keep(open);
  });
})();
