/** A real engine on loopback, configured as the shop server's own: two accounts, one stream, a key for each phone. */
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { createUser, fromSeed, usernamePasswordAuthenticator, wsconnect } from "../../site/static/js/vendor/nats.mjs";

const modules = process.env.TAREWELL_NODE_MODULES ?? fileURLToPath(new URL("../../.tools/npm/node_modules", import.meta.url));
// Node has one of its own only from version 22 on.
globalThis.WebSocket ??= createRequire(pathToFileURL(`${modules}/none.js`))("ws");

const PROGRAM = process.env.TAREWELL_NATS ?? fileURLToPath(new URL("../../.env/bin/nats-server", import.meta.url));
export const SHOP = "aaaaaaaa";
const inText = new TextDecoder();

export const newSeed = () => inText.decode(createUser().getSeed());
const publicOf = (seed) => fromSeed(new TextEncoder().encode(seed)).getPublicKey();

const freePort = () => new Promise((resolve) => {
  const server = createServer().listen(0, "127.0.0.1", () => {
    const { port } = server.address();
    server.close(() => resolve(port));
  });
});

export class RealEngine {
  /** @param {{device: string, seed: string}[]} phones @param {{most?: number, payload?: number}} [limits] */
  static async start(phones, { most = 200_000, payload = 65_536 } = {}) {
    const engine = new RealEngine();
    const [client, websocket] = [await freePort(), await freePort()];
    Object.assign(engine, { folder: mkdtempSync(join(tmpdir(), "shop-")), client, websocket, payload, phones, secret: null, limits: { most } });
    engine.address = `ws://127.0.0.1:${websocket}/`;
    await engine.up();
    await engine.makeStream();
    return engine;
  }

  config() {
    const of = (rest) => `tarewell.${SHOP}.${rest}`;
    const [info, get] = ["$JS.API.STREAM.INFO.EVENTS", "$JS.API.DIRECT.GET.EVENTS"];
    const phones = ["PHONES"];
    return {
      host: "127.0.0.1", port: this.client, max_payload: this.payload, jetstream: { store_dir: join(this.folder, "js"), sync_interval: "always" },
      websocket: { host: "127.0.0.1", port: this.websocket, no_tls: true },
      accounts: {
        STORE: {
          jetstream: "enabled", users: [{ user: "service", password: "service" }],
          exports: [
            { service: of("events.*"), accounts: phones }, { service: info, accounts: phones },
            { service: get, response_type: "stream", accounts: phones }, { stream: of("new"), accounts: phones },
            { service: of("phones"), accounts: phones }, { service: of("deed.*"), accounts: phones },
            { stream: of("scale.*"), accounts: phones }, { service: of("join"), accounts: ["JOIN"] },
          ],
        },
        PHONES: {
          imports: [
            ...["events.*", "phones", "deed.*"].map((rest) => ({ service: { account: "STORE", subject: of(rest) } })),
            { service: { account: "STORE", subject: info }, to: of("info") }, { service: { account: "STORE", subject: get }, to: of("get") },
            ...["new", "scale.*"].map((rest) => ({ stream: { account: "STORE", subject: of(rest) } })),
          ],
          users: this.phones.map(({ device, seed }) => ({
            nkey: publicOf(seed),
            permissions: {
              publish: { allow: [...[`events.${device}`, "info", "get", "phones", `deed.${device}`].map(of)] },
              subscribe: { allow: [`_INBOX.${device}.>`, of("new"), of("scale.*"), of("told")] },
            },
          })),
        },
        JOIN: {
          imports: [{ service: { account: "STORE", subject: of("join") } }],
          users: this.secret === null ? [] : [{
            user: "join", password: this.secret,
            permissions: { publish: { allow: [of("join")] }, subscribe: { allow: ["_INBOX.join.>"] } },
          }],
        },
      },
    };
  }

  async up() {
    const file = join(this.folder, "engine.json");
    writeFileSync(file, JSON.stringify(this.config()));
    this.process = spawn(PROGRAM, ["-c", file], { stdio: "ignore" });
    await this.service();
  }

  /** As the shop's own service, which has the store. */
  async service() {
    for (let n = 0; ; n += 1) {
      try {
        return await wsconnect({ servers: this.address, authenticator: usernamePasswordAuthenticator("service", "service"), reconnect: false });
      } catch (error) {
        if (n > 200) throw error;
        await new Promise((resolve) => setTimeout(resolve, 50));
      }
    }
  }

  async makeStream() {
    const of = (rest) => `tarewell.${SHOP}.${rest}`;
    const service = await this.service();
    const reply = await service.request("$JS.API.STREAM.CREATE.EVENTS", JSON.stringify({
      name: "EVENTS", subjects: [of("events.*")], storage: "file", retention: "limits", discard: "new", discard_new_per_subject: true, max_msgs_per_subject: this.limits.most,
      num_replicas: 1, deny_delete: true, deny_purge: true, allow_direct: true, republish: { src: of("events.*"), dest: of("new"), headers_only: true },
    }), { timeout: 5000 });
    const { error } = reply.json();
    if (error) throw new Error(error.description);
    await service.close();
  }

  /** Killed, as a power cut kills it. */
  async kill() {
    const ended = new Promise((resolve) => this.process.once("exit", resolve));
    this.process.kill("SIGKILL");
    await ended;
  }

  /** Takes the phones and the secret as they are now. */
  reload() {
    writeFileSync(join(this.folder, "engine.json"), JSON.stringify(this.config()));
    this.process.kill("SIGHUP");
  }

  lose() {
    rmSync(join(this.folder, "js"), { recursive: true, force: true });
  }

  async end() {
    await this.kill();
    rmSync(this.folder, { recursive: true, force: true });
  }
}
