/**
 * A browser may make a page ready before anybody goes there: at a tap that is not over yet (`aheadRules` of pages/app.py), or
 * while an address is typed. Until it is seen such a page reads, stores, holds and chooses nothing: its scripts wait here.
 */
const { prerendering } = /** @type {{prerendering?: boolean}} */ (globalThis.document ?? {});

if (prerendering) await new Promise((seen) => document.addEventListener("prerenderingchange", seen, { once: true }));

export {};
