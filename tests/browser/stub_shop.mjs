/**
 * Stands in for the client of the shop server's engine (site/static/js/vendor/nats.mjs): it answers as the contract has it, out
 * of what a test keeps under "stub-shop", and notes there what it was asked to do. The event "stub-told" says that the list of
 * phones has changed; "stub-scale" brings what a scale shows.
 */

const read = () => JSON.parse(localStorage.getItem("stub-shop") ?? "{}");
const note = (changes) => localStorage.setItem("stub-shop", JSON.stringify({ ...read(), ...changes }));
const now = () => new Date().toISOString();
const message = (body) => ({ json: () => body });
const moment = () => new Promise((resolve) => setTimeout(resolve, 20));

/** @type {Set<() => void>} */
const told = new Set();
const tell = () => told.forEach((heard) => heard());
addEventListener("stub-told", tell);

export const headers = () => ({ set() {} });
export const nkeyAuthenticator = () => "phone";
export const usernamePasswordAuthenticator = (_user, secret) => secret;
export const createUser = () => ({ getSeed: () => new TextEncoder().encode("SUSEED") });
export const fromSeed = () => ({ getPublicKey: () => "UPUBLIC" });

/** What each deed does to the list. */
const DEEDS = {
  pair: () => ({ secret: "a".repeat(32), until: new Date(Date.now() + 540_000).toISOString(), address: `https://tarewell.local:8443/workshop/phones/#join=${"a".repeat(32)}` }),
  confirm: ({ phones, joining }, { ask }) => {
    const asks = joining.find((each) => each.ask === ask);
    note({ phones: [...phones, { device: "cccccccccc", name: asks.name, owner: false, seen: now(), connected: true, revoked: null }], joining: [] });
  },
  refuse: () => note({ joining: [] }),
  revoke: ({ phones }, { device }) => note({ phones: phones.map((each) => (each.device === device ? { ...each, owner: false, connected: false, revoked: now() } : each)) }),
  owner: ({ phones }, { device }) => note({ phones: phones.map((each) => (each.device === device ? { ...each, owner: true } : each)) }),
};

async function answer(subject, body) {
  const kept = read();
  const name = subject.split(".")[2] ?? subject.split(".").at(-1);
  if (subject.endsWith(".join")) {
    note({ asked: body });
    while (!read().reply) await moment();
    return read().reply;
  }
  if (name === "info") return { created: kept.created ?? "2026-12-01T00:00:00Z", state: { last_seq: 0 } };
  if (name === "phones") return { phones: kept.phones, joining: kept.joining ?? [], events: 0, copy: null };
  if (name === "events") {
    note({ sent: [...(kept.sent ?? []), body] });
    return kept.full ? { error: { err_code: 10077, description: "maximum messages per subject exceeded" } } : { seq: 1 };
  }
  if (!body?.do) return {};
  note({ deeds: [...(kept.deeds ?? []), body] });
  const done = DEEDS[body.do](kept, body);
  setTimeout(tell, 50);
  return { ok: true, ...done };
}

export async function wsconnect() {
  const { state } = read();
  if (state === "gone") throw new Error("nobody answers");
  if (state === "revoked") throw Object.assign(new Error("Authorization Violation"), { name: "AuthorizationError" });
  let end;
  const closed = new Promise((resolve) => (end = resolve));
  return {
    info: { max_payload: 1_048_576 },
    request: async (subject, data) => {
      const text = typeof data === "string" ? data : new TextDecoder().decode(data);
      return message(await answer(subject, text ? JSON.parse(text) : null));
    },
    requestMany: async () => [{ headers: { code: 404, get: () => "" } }],
    subscribe: (subject, { callback }) => {
      if (subject.endsWith(".told")) told.add(() => callback(null, message({})));
      if (subject.endsWith(".scale.*")) {
        addEventListener("stub-scale", ({ detail }) => callback(null, message(detail)));
        document.documentElement.dataset.scalesHeard = "";
      }
      return { unsubscribe() {} };
    },
    closed: () => closed,
    close: async () => end(),
  };
}
