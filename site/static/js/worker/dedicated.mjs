// A worker of one page's own, where the browser has no shared ones.
import { attach, receive } from "./core.mjs";
// All of them named here, so that they are fetched at once and not one after the other.
import "./files.mjs";
import "./sparse.mjs";
import "./start_python.mjs";
import "./tar.mjs";

const port = { postMessage: (/** @type {object} */ message) => self.postMessage(message) };
attach(port);
self.onmessage = ({ data }) => receive(port, data);
