// A shop with nothing scripted in it: the station's own program, the simulated press with its bench, and a cable between
// them that can be pulled. Everything about it is invented (demo data).
import { spawn } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { request } from "node:http";
import { createConnection, createServer } from "node:net";
import { setPriority, tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = process.env.PROJECT ?? join(dirname(fileURLToPath(import.meta.url)), "../../..");
export const program = process.env.SHANKWRIGHT ?? join(root, "build/shankwright");
export const pin = "4711";
export const strict_recipe = "straight-shank-1-4-7x19";

export const free_port = () => new Promise((done) => {
  const probe = createServer().listen(0, "127.0.0.1", () => { const { port } = probe.address(); probe.close(() => done(port)); });
});
export const wait = (ms) => new Promise((done) => setTimeout(done, ms));

/** Waits until `what` gives something true, and gives that. */
export async function until(what, told, ms = 20_000) {
  const end = Date.now() + ms;
  for (;;) {
    const found = await what();
    if (found) return found;
    if (Date.now() > end) throw new Error(`never came: ${told}`);
    await wait(40);
  }
}

/** One request on a connection of its own: a kept one may be closed by the other side at any moment. */
export function ask(address, { method = "GET", headers = {}, body } = {}) {
  return new Promise((done, fail) => {
    const asked = request(address, { method, agent: false, headers: body === undefined ? headers : { ...headers, "Content-Type": "application/json", "Content-Length": Buffer.byteLength(body) } }, (answer) => {
      const parts = [];
      answer.on("data", (part) => parts.push(part));
      answer.on("error", fail);
      answer.on("end", () => done({ status: answer.statusCode, type: answer.headers["content-type"] ?? "", bytes: Buffer.concat(parts) }));
    });
    asked.on("error", fail);
    asked.end(body);
  });
}

/** A program that says "<name> ready" and goes on. */
class Running {
  constructor(name, args) {
    this.said = "";
    this.process = spawn(program, args, { stdio: ["ignore", "pipe", "pipe"] });
    // A real press and station have machines of their own; on a busy one samples would be missed.
    try { setPriority(this.process.pid, -10); } catch { /* not allowed here */ }
    for (const stream of [this.process.stdout, this.process.stderr]) stream.on("data", (text) => { this.said += text; });
    this.ended = new Promise((done) => this.process.once("exit", done));
    let over = false;
    void this.ended.then(() => { over = true; });
    this.ready = until(() => {
      if (over) throw new Error(`${name} ended: ${this.said}`);
      return new RegExp(`^${name} ready`, "m").test(this.said);
    }, `${name} ready`);
  }
  async kill() {
    this.process.kill("SIGKILL");
    await this.ended;
  }
}

/** Carries bytes between station and press until it is pulled. */
class Cable {
  async start(to_port) {
    this.ends = new Set();
    this.pulled = false;
    this.server = createServer((near) => {
      if (this.pulled) { near.destroy(); return; }
      const far = createConnection(to_port, "127.0.0.1");
      near.setNoDelay(true);
      far.setNoDelay(true);
      near.pipe(far);
      far.pipe(near);
      for (const end of [near, far]) {
        this.ends.add(end);
        end.on("error", () => end.destroy());
        end.on("close", () => { this.ends.delete(end); near.destroy(); far.destroy(); });
      }
    });
    await new Promise((done) => { this.server.listen(0, "127.0.0.1", done); });
    this.port = this.server.address().port;
  }
  pull() { this.pulled = true; for (const end of this.ends) end.destroy(); }
  plug_in() { this.pulled = false; }
  stop() { this.pull(); this.server.close(); }
}

export class RealShop {
  static async open({ seed = 1 } = {}) {
    const shop = new RealShop();
    shop.folder = mkdtempSync(join(tmpdir(), "shankwright-shop-"));
    shop.register = join(shop.folder, "shop.yaml");
    const today = Date.now();
    writeFileSync(shop.register, readFileSync(join(root, "simulators/demo_data/shop.yaml"), "utf8")
      .replaceAll(/@DAYS([+-]\d+)@/g, (_, days) => new Date(today + Number(days) * 86_400_000).toISOString().slice(0, 10)));
    // A library of its own: what a test releases stays here. In it the revision that asks for a proof load and two
    // signatures is in force.
    shop.recipes = join(shop.folder, "recipes");
    cpSync(join(root, "recipes"), shop.recipes, { recursive: true });
    const strict = join(shop.recipes, `recipes/${strict_recipe}.r3.yaml`);
    const draft = readFileSync(strict, "utf8");
    writeFileSync(strict, draft.replace("status: draft", "status: released"));
    if (!/^status: draft$/m.test(draft)) throw new Error(`${strict} is no draft any more`);
    const [modbus, bench] = [await free_port(), await free_port()];
    shop.bench_address = `http://127.0.0.1:${bench}`;
    shop.press = new Running("press-sim", ["press-sim", "--listen", `127.0.0.1:${modbus}`, "--bench", `127.0.0.1:${bench}`,
      "--recipes", shop.recipes, "--seed", String(seed)]);
    await shop.press.ready;
    shop.cable = new Cable();
    await shop.cable.start(modbus);
    shop.port = await free_port();
    shop.address = `http://127.0.0.1:${shop.port}`;
    await shop.start_station();
    await shop.give_pins(["ada", "ben", "cleo", "dan", "eli"]);
    await shop.tidy_up();
    await until(async () => (await shop.state()).press.fresh, "a fresh press");
    return shop;
  }

  async start_station() {
    this.station = new Running("station", ["station", "--shop", this.register, "--recipes", this.recipes, "--data", join(this.folder, "data"),
      "--profiles", join(root, "drivers/profiles"), "--press", `tcp:127.0.0.1:${this.cable.port}`, "--http", `127.0.0.1:${this.port}`]);
    await this.station.ready;
  }
  async kill_station() { await this.station.kill(); }

  async close() {
    await Promise.all([this.station.kill(), this.press.kill()]);
    this.cable.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Over HTTP, as any program would: [status, body]. */
  async call(method, path, body, token) {
    const answer = await ask(`${this.address}/api/v1${path}`, {
      method,
      headers: token ? { Authorization: `Bearer ${token}` } : {},
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = answer.bytes.toString();
    return [answer.status, answer.type.includes("json") ? JSON.parse(text) : text];
  }
  async expect(wanted, ...request) {
    const [status, body] = await this.call(...request);
    if (status !== wanted) throw new Error(`${request.slice(0, 2).join(" ")}: ${status} ${JSON.stringify(body)}`);
    return body;
  }
  async sign_in(person) { return (await this.expect(200, "POST", "/session", { person, pin })).token; }
  async state() { return (await this.expect(200, "GET", "/station")); }
  async fitting(serial) { return (await this.expect(200, "GET", `/fittings/${serial}`)).fitting; }

  /** Everybody gets a PIN by the station's own ways: its one-time code for the administrator, the administrator's for the others. */
  async give_pins(people) {
    const set = async (person, code) => {
      const { token } = await this.expect(200, "POST", "/session", { person, code });
      return (await this.expect(200, "POST", "/session/pin", { pin }, token)).token;
    };
    const [, code] = /^one-time code for administrator: (\S+)/m.exec(this.station.said);
    const administrator = await set("administrator", code);
    for (const person of people) await set(person, (await this.expect(200, "POST", `/people/${person}/code`, {}, administrator)).code);
    await this.call("DELETE", "/session", undefined, administrator);
  }

  // Hands and instruments at the bench.
  async bench(what, body = {}) {
    const answer = await ask(`${this.bench_address}/bench/${what}`, { method: "POST", body: JSON.stringify(body) });
    const text = answer.bytes.toString();
    if (answer.status >= 300) throw new Error(`the bench does not take ${what} ${JSON.stringify(body)}: ${text}`);
    return text === "" ? null : JSON.parse(text);
  }
  async tidy_up() {
    const library = JSON.parse((await ask(`${this.bench_address}/bench/library`)).bytes.toString());
    this.tags = new Map(library.die_pairs.map((pair) => [pair.id, pair.tag]));
    await this.bench("hands", { on: false });
    await this.bench("guard", { closed: true });
    await this.bench("emergency", { healthy: true });
    await this.bench("remote", { selected: true });
  }
  /** A terminal and a rope end that measure well inside the limits: some of those at the bench do not, as in any shop. */
  async take_part(recipe, die_pair, limits) {
    const sizes = { rope_diameter: ["caliper-1", limits.rope_diameter_mm], shank_diameter: ["micrometer-1", limits.shank_diameter_mm], bore_depth: ["depth-rod-1", limits.bore_depth_mm] };
    const well_inside = async () => {
      for (const [kind, [gauge, { least, most }]] of Object.entries(sizes)) {
        const margin = (most - least) * 0.15;
        const { numbers } = await this.read(kind, gauge, 1);
        if (Number(numbers[0]) < least + margin || Number(numbers[0]) > most - margin) return false;
      }
      return true;
    };
    for (let tries = 0; tries < 60; ++tries) {
      await this.bench("part", { recipe, rope: "as_recipe" });
      if (await well_inside()) {
        await this.bench("die", { tag: this.tags.get(die_pair) });
        return;
      }
    }
    throw new Error("no part at the bench lies well inside its limits");
  }
  /** What an instrument at the bench reads, as numbers in the station's unit. */
  async read(kind, gauge, readings) {
    const body = await this.bench("measure", { kind, gauge, ...(readings ? { readings } : {}) });
    return { ...body, numbers: (body.values ?? body.stations?.flat() ?? []).map((text) => text.replace(/ .*/, "")) };
  }
}
