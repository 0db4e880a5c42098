/**
 * Loaded with `node --import`: finds the packages that build.py fetched for the modules under test, and those where the
 * built site has its own copy. The modules are those of a device on which somebody has chosen their own workshop.
 */
import { createRequire, register } from "node:module";
import { pathToFileURL } from "node:url";

const place = process.env.TAREWELL_NODE_MODULES ?? new URL("../../.tools/npm/node_modules", import.meta.url).pathname;
const found = createRequire(pathToFileURL(`${place}/none.js`));

register(
  `data:text/javascript,${encodeURIComponent(`
    let places;
    export const initialize = (given) => { places = given; };
    export const resolve = async (name, context, next) => {
      if (places[name]) return { url: places[name], shortCircuit: true };
      const found = await next(name, context);
      // A module asked for as "…?phone=2" gets modules of that phone alone: each has its own connection and clock.
      const phone = new URL(context.parentURL ?? "file:///").searchParams.get("phone");
      const isOfPhone = phone !== null && found.url.endsWith(".mjs") && found.url.includes("/site/static/js/");
      return isOfPhone ? { ...found, url: found.url + "?phone=" + phone } : found;
    };
  `)}`,
  {
    data: {
      "../vendor/idb.mjs": pathToFileURL(found.resolve("idb").replace(/\.cjs$/, ".js")).href,
      "../vendor/fflate.mjs": pathToFileURL(`${place}/fflate/esm/index.mjs`).href,
      "@nats-io/nats-core": pathToFileURL(found.resolve("@nats-io/nats-core")).href,
      "@nats-io/nkeys": pathToFileURL(found.resolve("@nats-io/nkeys")).href,
      "fake-indexeddb": pathToFileURL(found.resolve("fake-indexeddb")).href,
    },
  },
);

globalThis.localStorage = { getItem: (key) => (key === "tarewell-mode" ? "own" : null), setItem() {} };
