// A worker of one page's own, where the browser has no shared ones.
import { attach, receive } from "./core.mjs";

const port = { postMessage: (/** @type {object} */ message) => self.postMessage(message) };
attach(port);
self.onmessage = ({ data }) => receive(port, data);
