// A station of the tests' own: the HTTP interface of hmi/openapi.yaml over the scripted fitting, so that the page can
// be driven through every stage in seconds, and shown silences and refusals on command.
import { createReadStream, existsSync, statSync } from "node:fs";
import { createServer } from "node:http";
import { extname, join, normalize } from "node:path";
import * as script from "./fitting_script.mjs";

const types = { ".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml" };
const people = [
  { id: "demo-ada", name: "Ada Demo", roles: ["operator"] },
  { id: "demo-bert", name: "Bert Demo", roles: ["operator"] },
  { id: "demo-rita", name: "Rita Demo", roles: ["reviewer"] },
  { id: "demo-otto", name: "Otto Demo", roles: ["operator", "technician"] },
  { id: "demo-nina", name: "Nina Demo", roles: ["administrator"] },
];
export const demo_pin = "4711", demo_code = "K7QD-2M9P-X4TR"; // demo data: everybody's, but for demo-otto, who has none yet
const gauge = (id, kind, in_date = true) => ({ id, kind, size_mm: null, calibration_due: in_date ? "2030-01-31" : "2020-01-31", in_date });
const library = {
  recipes: [script.recipe],
  ropes: [{ id: script.recipe.rope, construction: "7x19", nominal_diameter_mm: 4.76, minimum_breaking_force_kn: 15.6 }],
  terminals: [{ id: script.recipe.terminal, end: "fork", pin_distance_known: true }], die_pairs: [script.recipe.die_pair], presses: [script.recipe.press],
  rope_lots: [{ id: "R-1001", of: script.recipe.rope, quarantined: false }, { id: "R-1002", of: script.recipe.rope, quarantined: true }, { id: "R-2001", of: "demo-rope-1x19-4.76", quarantined: false }],
  terminal_lots: [{ id: "T-1001", of: script.recipe.terminal, quarantined: false }],
  gauges: [gauge("caliper-1", "caliper"), gauge("caliper-2", "caliper", false), gauge("micrometer-1", "micrometer"), gauge("depth-rod-1", "depth_rod"), gauge("rule-1", "rule"), gauge("protractor-1", "protractor"), gauge("straight-edge-1", "straight_edge"), gauge("loupe-1", "loupe")],
  people,
  faults: [],
};
const cautions = [
  "Shankwright is not a safety function: two-hand control, guards, emergency stop and pressure relief belong to the press.",
  "Follow the terminal and rope makers' instructions, local codes and a competent person.",
];

const per_unit = { mm: { mm: 1, in: 25.4, cm: 10 }, deg: { deg: 1 } };
function quantity(text, unit) {
  const match = /^\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*([a-zA-Z]+)\s*$/.exec(text);
  const factor = match === null ? undefined : per_unit[unit]?.[match[2]];
  return factor === undefined ? null : Number(match[1]) * factor;
}

const ram_kn_per_bar = 1.2;
const token_of = (request) => /shankwright_session=(\w+)/.exec(request.headers.cookie ?? "")?.[1];
const held_elsewhere = (holder) => script.finding("control_held_elsewhere", 0, 0, 0,
  `${holder.name} (${holder.person}) holds control of the press at another screen, since ${holder.since_utc}.`, "Agree with them first.");

const never_verified = {
  state: "never", sound: null, asked_by: "", started_utc: null, ended_utc: null, running_s: null, part: null, part_done: null, part_of: null, bytes: 0, entries: 0, traces: 0,
  fittings: 0, seals: 0, newest_entry: 0, newest_seal: null, findings: [], notes: [], fault: "",
};
const proof_of = (fitting) => ({
  chain_holds: true, own_entries_hold: true, sealed: false, too_long: false, first_entry: 1, last_entry: fitting.entries.length, entries: fitting.entries.length,
  seal: null, findings: [], notes: [],
});

export class ScriptedStation {
  constructor(page_folder) {
    this.page_folder = page_folder;
    this.streams = new Set();
    this.requests = [];       // every request that changes something, for the tests to look at
    this.fittings = new Map();
    this.sessions = new Map();
    this.pins = new Map(people.filter((one) => one.id !== "demo-otto").map((one) => [one.id, demo_pin]));
    this.failed = new Map();
    this.accounts = people.map((one) => ({ ...one, qualified: one.roles.includes("operator") ? { "straight-shank-hexagon": "2031-12-31" } : {}, code_waits: false, code_until_utc: null }));
    this.active = null;
    this.control = null;      // { token, person, since_utc } of the session that drives the press
    this.shifts_ended = [];
    this.version = 0;
    this.bite = { number: 0, rows: [], shown: 0 };
    this.silent = false;
    this.after_event = [];
    this.version_sent = 0;
    this.bite_ms = 1200;
    this.press = {
      link: "connected", link_problem: "", fresh: true, age_ms: 12, phase: "open", fault_code: 0, fault: "none", emergency_circuit_healthy: true,
      guard_closed: true, both_hands_on: false, pump_running: true, dies_home: true, dies_closed: false, shank_present: false, mark_seen: false,
      remote_selected: true, mark_sensor_fitted: false, angle_encoder_fitted: false, position_sensor_fitted: false, die_tag: 101, angle_deg: 0,
      oil_temperature_c: 38.2, pressure_bar: 0.4, force_kn: 0, gap_mm: null, edge_distance_mm: 0, bite_number: 0, stroke_total: 1234,
      permit_state: "none", peak_pressure_bar: 0, dwell_done_ms: 0, least_gap_mm: null, scan_number: 0,
    };
  }

  async start(port = 0) {
    this.server = createServer((request, response) => void this.serve(request, response).catch((error) => {
      console.error(error);
      response.destroy();
    }));
    await new Promise((done) => this.server.listen(port, "127.0.0.1", done));
    this.beat = setInterval(() => { this.press.scan_number += 5; this.publish(); }, 100);
    this.address = `http://127.0.0.1:${this.server.address().port}`;
    return this.address;
  }

  async stop() {
    clearInterval(this.beat);
    clearInterval(this.biting);
    for (const stream of this.streams) stream.response.end();
    this.server.closeAllConnections?.();
    await new Promise((done) => this.server.close(done));
  }

  /** Resolves when the next event has gone out. */
  next_event() {
    return new Promise((done) => this.after_event.push(done));
  }

  /** The line stays open and nothing comes: what a hung station looks like. */
  fall_silent(silent = true) { this.silent = silent; }
  break_lines() { for (const stream of this.streams) stream.response.destroy(); }

  hands_on() {
    if (this.active?.stage !== "permit_given") throw new Error("no permit: hands move nothing");
    this.press.both_hands_on = true;
    this.active.stage = "biting";
    this.bite = { number: this.bite.number + 1, rows: script.bite_rows(this.active.pass), shown: 0 };
    const steps = Math.max(1, Math.round(this.bite_ms / 40));
    this.biting = setInterval(() => {
      const { bite, press } = this;
      bite.shown = Math.min(bite.rows.length, bite.shown + Math.ceil(bite.rows.length / steps));
      const [, force_kn, gap_mm] = bite.rows[bite.shown - 1];
      Object.assign(press, { force_kn, gap_mm, pressure_bar: force_kn / 1.2, phase: bite.shown < 400 ? "closing" : bite.shown < 550 ? "holding" : "opening", dies_home: false });
      if (bite.shown === bite.rows.length) {
        clearInterval(this.biting);
        Object.assign(press, { phase: "open", dies_home: true, both_hands_on: false, gap_mm: null, force_kn: 0, pressure_bar: 0.4, permit_state: "used", bite_number: bite.number });
        this.keep_bite(this.active, bite);
        script.bite_done(this.active);
      }
      this.publish();
    }, 40);
  }

  keep_bite(fitting, bite) {
    this.enter(fitting, "bite", "bite_finished", "station", { token: bite.number, fault_code: 0 });
    fitting.bites.push({
      entry: fitting.entries.length, pass: fitting.pass, bite: fitting.bite + 1, peak_pressure_bar: 410 / ram_kn_per_bar, peak_force_kn: 410, least_gap_mm: 0.03,
      dwell_ms: 300, duration_ms: 1198, samples: bite.rows.length, samples_missing: 0, longest_step_ms: 2,
      rows: bite.rows.map(([time_ms, force_kn, gap_mm]) => [time_ms, force_kn / ram_kn_per_bar, gap_mm]),
    });
  }

  dossier(fitting) {
    const envelope = [1, 2].map((pass) => script.envelope_of(pass).map(({ gap_mm, least_kn, most_kn }) => ({ gap_mm, force_kn: { least: least_kn, most: most_kn } })));
    return {
      format: "shankwright dossier 1", cautions, fitting: { serial: fitting.serial }, state: {}, standing: fitting.standing, gauges: [],
      recipe: { recipe: { envelope, target_force_kn: 400 }, press: { ram_area_mm2: ram_kn_per_bar * 1e4 } }, bites: fitting.bites, entries: fitting.entries,
    };
  }

  view(fitting) {
    return {
      ...fitting, evidence: { ...fitting.evidence }, envelope: script.envelope_of(fitting.pass), passes: script.passes, bites_in_pass: script.bites_in_pass,
      planned_edge_mm: script.planned_edge(fitting), accepted_edge_mm: { least: script.planned_edge(fitting) - 1, most: script.planned_edge(fitting) + 1 },
      target_force_kn: 400, limits: script.limits, drawing: script.drawing, next: script.next_of(fitting, this.press),
      proof: fitting.proof ?? { asked: null, newest: null, passed: false, slipped: false },
      verdict: { accepted: "accepted", released: "accepted", scrapped: "scrapped", hold: "held" }[fitting.stage] ?? "",
    };
  }

  control_of(token) {
    if (this.control === null || !this.sessions.has(this.control.token)) return null;
    const { person, since_utc } = this.control;
    return { person: person.id, name: person.name, since_utc, here: this.control.token === token };
  }

  hold_control(token, person) { this.control = { token, person, since_utc: new Date().toISOString() }; }

  station(token) {
    const serials = (stage) => [...this.fittings.values()].filter((fitting) => fitting.stage === stage).map((fitting) => fitting.serial);
    return {
      name: "Demo press shop", version: "0.1.0", cautions, press: this.press, active: this.active === null ? null : this.view(this.active),
      set_aside: serials("aside"), held: serials("hold"), notices: [], snapshot_version: this.version, at_utc: new Date().toISOString(),
      control: this.control_of(token),
    };
  }

  publish() {
    this.version += 1;
    if (this.silent) return;
    this.version_sent = this.version;
    for (const stream of this.streams) {
      const { number, rows, shown } = this.bite;
      const from = stream.bite === number ? stream.sent : 0;
      stream.bite = number;
      stream.sent = shown;
      const data = { ...this.station(stream.token), samples: { bite: number, from, rows: rows.slice(from, shown) } };
      stream.response.write(`event: station\nid: ${this.version}\ndata: ${JSON.stringify(data)}\n\n`);
    }
    for (const done of this.after_event.splice(0)) done();
  }

  async serve(request, response) {
    const url = new URL(request.url, "http://station");
    if (!url.pathname.startsWith("/api/v1/")) return this.file(url.pathname, response);
    const path = url.pathname.slice("/api/v1".length);
    if (path === "/events") {
      response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
      const stream = { response, bite: -1, sent: 0, token: token_of(request) };
      this.streams.add(stream);
      request.on("close", () => this.streams.delete(stream));
      return this.publish();
    }
    const chunks = [];
    for await (const chunk of request) chunks.push(chunk);
    const body = chunks.length > 0 ? JSON.parse(Buffer.concat(chunks).toString()) : {};
    if (request.method !== "GET") this.requests.push({ method: request.method, path, body });
    const [status, answer, headers = {}] = this.answer(request, path, url.searchParams, body);
    response.writeHead(status, { "Content-Type": "application/json", ...headers });
    response.end(JSON.stringify(answer));
    if (request.method !== "GET") this.publish();
  }

  file(path, response) {
    const file = join(this.page_folder, normalize(path === "/" ? "/index.html" : path));
    if (!existsSync(file) || !statSync(file).isFile()) {
      response.writeHead(404);
      return response.end();
    }
    response.writeHead(200, { "Content-Type": types[extname(file)] ?? "application/octet-stream", "Content-Security-Policy": "default-src 'self'" });
    createReadStream(file).pipe(response);
  }

  answer(request, path, query, body) {
    const problem = (status, place, found, expected) => [status, { problem: { place, found, expected } }];
    const session = token_of(request);
    const held = this.sessions.get(session) ?? null;
    const person = held === null || held.must_set_pin ? null : held.person;
    if (path.startsWith("/session")) return this.session(request.method, path, session, body, problem);
    if (path.startsWith("/people")) return person?.roles.includes("administrator") ? this.people_route(request.method, path, body, problem) : problem(403, "session", "no administrator", "a person with the role administrator");
    if (path === "/station") return [200, this.station(session)];
    if (path === "/library") return [200, library];
    if (path === "/integrity") return [200, never_verified];
    if (request.method !== "GET" && person === null) return problem(401, "", "no session", "a person signed in");
    if (path === "/press/control") return this.control_route(request.method, session, person, body);
    if (path === "/shift/end") {
      this.shifts_ended.push(person.id);
      if (this.control_of(session)?.here) this.control = null;
      return [200, { fitting: null, findings: [] }];
    }
    const stops = /\/(hold|disposition)$/.test(path) || path === "/press/open-dies" || request.method === "DELETE";
    if (request.method === "POST" && !stops) {
      const holder = this.control_of(session);
      if (holder !== null && !holder.here) return [409, { refusals: [held_elsewhere(holder)], fitting: null }];
      if (holder === null) this.hold_control(session, person);
    }
    if (path === "/fittings") return request.method === "POST" ? this.begin(body, person) : this.list(query);
    if (path.startsWith("/press/")) return this.press_order(path.slice("/press/".length));
    const [, , serial, what] = path.split("/");
    const fitting = this.fittings.get(serial);
    if (fitting === undefined) return problem(404, "serial", serial, "a serial of this record");
    return this.on_fitting(request.method, fitting, what ?? "", body, person, problem);
  }

  control_route(method, session, person, body) {
    const holder = this.control_of(session);
    if (method === "DELETE") {
      if (holder?.here) this.control = null;
    } else if (holder === null) this.hold_control(session, person);
    else if (!holder.here && body.from !== holder.person) return [409, { refusals: [held_elsewhere(holder)], fitting: null }];
    else if (!holder.here && ["permit_recorded", "permit_given", "biting"].includes(this.active?.stage)) {
      return [409, { refusals: [script.finding("bite_under_way", 0, 0, 0, "A permit is out or a bite is running.", "Withdraw the permit or let the bite end first.")], fitting: null }];
    } else this.hold_control(session, person);
    return [200, { control: this.control_of(session) }];
  }

  session(method, path, session, body, problem) {
    const held = this.sessions.get(session) ?? null;
    const signed_in = (person, must_set_pin) => {
      const token = `t${Math.random().toString(36).slice(2)}`;
      this.sessions.set(token, { person, must_set_pin });
      return [200, { token, person, must_set_pin }, { "Set-Cookie": `shankwright_session=${token}; HttpOnly; SameSite=Strict; Path=/` }];
    };
    if (path === "/session/pin") {
      if (held === null) return problem(401, "", "no session", "a person signed in");
      if (/^(\d)\1*$|^1234$/.test(body.pin)) return problem(400, "/pin", "the same digits over and over", "a PIN that is not among the first to be tried");
      this.pins.set(held.person.id, body.pin);
      return signed_in(held.person, false);
    }
    if (method === "POST") {
      const found = people.find((one) => one.id === body.person);
      const right = body.code !== undefined ? body.code === demo_code : this.pins.get(body.person) === body.pin && body.pin !== undefined;
      if (found !== undefined && right) {
        this.failed.delete(body.person);
        return signed_in(found, body.code !== undefined);
      }
      const failed = (this.failed.get(body.person) ?? 0) + 1;
      this.failed.set(body.person, failed);
      const place = body.code === undefined ? "/pin" : "/code";
      if (failed > 5) return [429, { problem: { place, found: "too many tries that failed", expected: "another try in 3 s" }, tries_left: 0, wait_s: 3 }];
      return [401, { problem: { place, found: "a wrong one", expected: "the right one" }, tries_left: 5 - failed, wait_s: failed === 5 ? 3 : 0 }];
    }
    if (method === "DELETE") {
      this.sessions.delete(session);
      return [200, {}];
    }
    return held === null ? problem(401, "", "no session", "a person signed in") : [200, held];
  }

  /** Accounts as an administrator's page asks for them. */
  people_route(method, path, body, problem) {
    const shown = (one) => ({ ...one, has_pin: this.pins.has(one.id), tries_failed: this.failed.get(one.id) ?? 0, locked_for_s: (this.failed.get(one.id) ?? 0) >= 5 ? 28 : 0 });
    if (method === "GET") return [200, { people: this.accounts.map(shown) }];
    const [, , id, what] = path.split("/");
    if (id === undefined) {
      this.accounts.push({ ...body, qualified: {}, code_waits: false, code_until_utc: null });
      return [201, { person: shown(this.accounts.at(-1)) }];
    }
    const one = this.accounts.find((account) => account.id === id);
    if (one === undefined) return problem(404, "person", id, "the id of a person with an account here");
    if (what === "roles") one.roles = body.roles;
    if (what === "qualification") body.until === null ? delete one.qualified[body.family] : (one.qualified[body.family] = body.until);
    if (what === "unlock") this.failed.delete(id);
    if (what === "removal") this.accounts = this.accounts.filter((account) => account !== one);
    if (what === "code") {
      Object.assign(one, { code_waits: true, code_until_utc: "2031-05-03T17:46:40Z" });
      return [200, { person: id, code: demo_code, until_utc: one.code_until_utc }];
    }
    return [200, { person: shown(one) }];
  }

  /** As at the real press: what is put aside, held or ended may still be shown, and is in nobody's way. */
  occupied() {
    return this.active !== null && !["released", "scrapped", "hold", "aside"].includes(this.active.stage);
  }

  begin(body, person) {
    const refused = [];
    if (this.occupied()) refused.push(script.finding("another_fitting_open", 0, 0, 0, "Another fitting is open at this press.", "Finish it or put it aside."));
    if (library.rope_lots.find((lot) => lot.id === body.rope_lot)?.quarantined) refused.push(script.finding("rope_lot_quarantined", 0, 0, 0, `Rope lot ${body.rope_lot} is quarantined.`, "Take rope of a free lot."));
    if (refused.length > 0) return [409, { refusals: refused, fitting: null }];
    const serial = `DEMO-${String(this.fittings.size + 1).padStart(4, "0")}-K`;
    const fitting = {
      serial, stage: "measure", recipe: body.recipe, revision: script.recipe.revision, job: body.job, operator: person.id, rope_lot: body.rope_lot,
      terminal_lot: body.terminal_lot, started_utc: new Date().toISOString(), evidence: { go: "not_tried", no_go: "not_tried", surface: "not_looked_at" },
      pass: 0, bite: 0, re_presses: 0, repeats: 0, bites_done: 0, findings: [], standing: [], entries: [], bites: [],
    };
    this.fittings.set(serial, fitting);
    this.active = fitting;
    this.enter(fitting, "evidence", "admit", person.id, body);
    return [201, { fitting: this.view(fitting) }];
  }

  enter(fitting, kind, event, actor, body, more = {}) {
    fitting.entries.push({ sequence: fitting.entries.length + 1, at_utc: new Date().toISOString(), kind, event, actor, stage: fitting.stage, gauge: body.gauge ?? "", reason: "", note: "", findings: [], orders: [], body: { event: body }, ...more });
  }

  list(query) {
    const wanted = (fitting) => {
      const verdict = { accepted: "accepted", released: "accepted", scrapped: "scrapped", hold: "held" }[fitting.stage] ?? "open";
      return (!query.get("verdict") || query.get("verdict") === verdict) && fitting.serial.startsWith(query.get("serial_prefix") ?? "") &&
        (!query.get("job") || query.get("job") === fitting.job);
    };
    const rows = [...this.fittings.values()].filter(wanted).map((fitting) => ({
      serial: fitting.serial, recipe: fitting.recipe, revision: fitting.revision, job: fitting.job, operator: fitting.operator, rope_lot: fitting.rope_lot,
      terminal_lot: fitting.terminal_lot, die_pair: script.recipe.die_pair, stage: fitting.stage, verdict: this.view(fitting).verdict,
      started_utc: fitting.started_utc, changed_utc: fitting.started_utc,
    }));
    return [200, { fittings: rows, next_after: null }];
  }

  press_order(order) {
    if (order === "clear-fault") Object.assign(this.press, { phase: "open", fault_code: 0, fault: "none", dies_home: true });
    return [200, {}];
  }

  on_fitting(method, fitting, what, body, person, problem) {
    const taken = () => [200, { fitting: this.view(fitting), findings: fitting.findings }];
    const refuse = (...findings) => {
      fitting.findings = findings;
      this.enter(fitting, "refused", what, person.id, body, { findings });
      return [409, { refusals: findings, fitting: this.view(fitting) }];
    };
    if (method === "GET" && what === "integrity") return [200, proof_of(fitting)];
    if (method === "GET") return what === "dossier" ? [200, this.dossier(fitting)] : [200, { fitting: this.view(fitting) }];
    if (what === "evidence") {
      const texts = body.values ?? body.stations?.flat() ?? [];
      const next = script.next_of(fitting, this.press);
      const values = [];
      for (const [index, text] of texts.entries()) {
        const value = quantity(text, next.unit);
        if (value === null) return problem(400, `/values/${index}`, text, next.unit === "deg" ? 'an angle with its unit, for example "90 deg"' : 'a length with its unit, for example "7.95 mm"');
        values.push(value);
      }
      const findings = script.take_evidence(fitting, next, body.kind, values, body.result);
      if (findings.length > 0) return refuse(...findings);
      this.enter(fitting, "evidence", body.kind, person.id, body);
    } else if (what === "permit" && method === "POST") {
      if (!this.press.guard_closed) return refuse(script.finding("guard_open", 0, 0, 0, "The guard is open.", "Close the guard."));
      fitting.stage = "permit_recorded";
      setTimeout(() => { fitting.stage = "permit_given"; this.press.phase = "permitted"; this.publish(); }, 120);
      this.enter(fitting, "evidence", "permit", person.id, {});
    } else if (what === "permit") {
      fitting.stage = "position";
      this.press.phase = "open";
    } else if (what === "judge") {
      fitting.stage = fitting.evidence.surface === "sound" ? "accepted" : "scrapped";
      if (fitting.stage === "scrapped") fitting.standing = [script.finding("surface_cracked", 0, 0, 0, "The surface is cracked.", "Scrap the part.")];
      this.enter(fitting, "verdict", "judge", person.id, { verdict: fitting.stage });
    } else if (what === "release") fitting.stage = "released";
    else if (what === "aside") Object.assign(fitting, { aside_from: fitting.stage, stage: "aside" });
    else if (what === "resume") {
      if (this.occupied()) return refuse(script.finding("another_fitting_open", 0, 0, 0, "Another fitting is open at this press.", "Finish it or put it aside."));
      fitting.stage = fitting.aside_from;
      this.active = fitting;
    } else if (what === "hold") {
      Object.assign(fitting, { stage: "hold", standing: [script.finding("held_by_operator", 0, 0, 0, "The operator put it on hold.", "A reviewer decides.")] });
    } else if (what === "disposition") {
      if (!person.roles.includes("reviewer")) return problem(403, "", person.id, "a reviewer");
      if (this.pins.get(person.id) !== body.pin) return [403, { problem: { place: "/pin", found: "a wrong one", expected: "the right one" }, tries_left: 4, wait_s: 0 }];
      Object.assign(fitting, { stage: body.disposition === "scrap" ? "scrapped" : "accepted" });
      this.enter(fitting, "verdict", "dispose", person.id, body);
    }
    fitting.findings = [];
    if (this.active === fitting && fitting.stage === "hold") this.active = null;
    return taken();
  }
}
