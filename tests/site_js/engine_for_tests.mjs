/** A real engine on loopback, configured by the shop server's own code. */
import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { createUser, fromSeed, usernamePasswordAuthenticator, wsconnect } from "../../site/static/js/vendor/nats.mjs";

const modules = process.env.TAREWELL_NODE_MODULES ?? fileURLToPath(new URL("../../.tools/npm/node_modules", import.meta.url));
// Node has one of its own only from version 22 on.
globalThis.WebSocket ??= createRequire(pathToFileURL(`${modules}/none.js`))("ws");

const PROGRAM = process.env.TAREWELL_NATS ?? fileURLToPath(new URL("../../.env/bin/nats-server", import.meta.url));
const PYTHON = join(dirname(PROGRAM), "python");
const WRITES = fileURLToPath(new URL("engine_config.py", import.meta.url));
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

  /** What the shop server itself writes, but for the limits that a test makes smaller. */
  config() {
    const { folder, client, websocket, secret } = this;
    const phones = this.phones.map(({ device, seed }) => ({ device, key: publicOf(seed) }));
    const passwords = { service: "service", control: "control", watch: "watch" };
    const asked = JSON.stringify({ shop: SHOP, folder, client, websocket, secret, phones, passwords });
    const { status, stdout, stderr } = spawnSync(PYTHON, [WRITES], { input: asked, encoding: "utf8" });
    if (status !== 0) throw new Error(stderr);
    const { config, stream } = JSON.parse(stdout);
    return { config: { ...config, max_payload: this.payload }, stream: { ...stream, max_msgs_per_subject: this.limits.most, max_msg_size: this.payload } };
  }

  async up() {
    const file = join(this.folder, "engine.json");
    writeFileSync(file, JSON.stringify(this.config().config));
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
    const service = await this.service();
    const reply = await service.request("$JS.API.STREAM.CREATE.EVENTS", JSON.stringify(this.config().stream), { timeout: 5000 });
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
    writeFileSync(join(this.folder, "engine.json"), JSON.stringify(this.config().config));
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
