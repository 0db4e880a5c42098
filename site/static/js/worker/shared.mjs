// One worker for all pages of the app: Python stays awake from page to page.
import { attach, receive } from "./core.mjs";

/** @type {any} */ (self).onconnect = (/** @type {MessageEvent} */ { ports: [port] }) => {
  if (!port) return;
  attach(port);
  // A page that found it silent ends it, so that the next page does not wait for it again.
  port.onmessage = ({ data }) => (data.stop ? self.close() : receive(port, data));
};
