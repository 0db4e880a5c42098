// One worker for all pages of the app: Python stays awake from page to page.
import { attach, receive } from "./core.mjs";
// All of them named here, so that they are fetched at once and not one after the other.
import "./files.mjs";
import "./sparse.mjs";
import "./start_python.mjs";
import "./tar.mjs";

/** @type {any} */ (self).onconnect = (/** @type {MessageEvent} */ { ports: [port] }) => {
  if (!port) return;
  attach(port);
  port.onmessage = ({ data }) => receive(port, data);
};
