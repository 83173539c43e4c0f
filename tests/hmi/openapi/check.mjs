// node check.mjs OPENAPI.yaml SERVER
// Holds the description and a running server against each other, with tools that are not ours: the document is
// validated against the OpenAPI specification, and every answer of the server against the schema of its status.
// Exits 1 with every fault found.
import { createConfig, lintFromString } from "@redocly/openapi-core";
import Ajv2020 from "ajv/dist/2020.js";
import add_formats from "ajv-formats";
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { parse } from "yaml";

const [file, server_path] = process.argv.slice(2);
if (file === undefined || server_path === undefined) {
  console.error("usage: node check.mjs OPENAPI.yaml SERVER");
  process.exit(2);
}
const faults = [];
const source = readFileSync(file, "utf8");
const description = parse(source);

// 1. The document itself. The rules left out are about publishing an interface on the Internet.
const config = await createConfig({
  extends: ["recommended-strict"],
  rules: {
    "no-server-example.com": "off",
    "operation-4xx-response": "error",
    "no-invalid-media-type-examples": { severity: "error" },
    "no-invalid-schema-examples": "error",
    "no-ambiguous-paths": "off", // /{asset} stands for whatever is not named otherwise
  },
});
for (const problem of await lintFromString({ source, absoluteRef: file, config }))
  faults.push(`${file}: ${problem.ruleId}: ${problem.message} at ${problem.location.map((at) => at.pointer ?? "").join(" ")}`);

// 2. Answers against schemas.
const ajv = new Ajv2020({ allErrors: true, strict: false });
add_formats(ajv);
ajv.addSchema({ $id: "station.json", components: description.components });

function schema_of(response, type) {
  const named = response.$ref === undefined ? response : description.components.responses[response.$ref.split("/").pop()];
  const content = named.content?.[type];
  return content === undefined ? undefined : JSON.parse(JSON.stringify(content.schema).replaceAll("#/components", "station.json#/components"));
}

const seen = new Set();
function hold(method, path, status, type, value, place) {
  const responses = description.paths[path]?.[method.toLowerCase()]?.responses;
  const response = responses?.[status];
  if (response === undefined) return faults.push(`${place}: status ${status} is not described for ${method} ${path}`);
  seen.add(`${method} ${path} ${status}`);
  const schema = schema_of(response, type);
  if (schema === undefined) return faults.push(`${place}: ${type} is not described for ${method} ${path} ${status}`);
  if (!ajv.validate(schema, value)) faults.push(`${place}: ${ajv.errorsText(undefined, { separator: "\n    " })}`);
}

const server = spawn(server_path, { stdio: ["pipe", "pipe", "inherit"] });
const [port] = await new Promise((take) => createInterface(server.stdout).once("line", (line) => take([Number(line)])));
const base = `http://127.0.0.1:${port}`;

async function ask(method, path, { parameter = "", query = "", body, token, status, headers = {} } = {}) {
  const url = base + path.replace(/\{.*\}/, parameter) + query;
  const all = { ...headers };
  if (token !== undefined) all.authorization = `Bearer ${token}`;
  if (body !== undefined) all["content-type"] ??= "application/json";
  const answer = await fetch(url, { method, headers: all, body: typeof body === "object" ? JSON.stringify(body) : body });
  const place = `${method} ${url.slice(base.length)}`;
  if (status !== undefined && answer.status !== status) faults.push(`${place}: found ${answer.status}, expected ${status}`);
  const type = (answer.headers.get("content-type") ?? "").split(";")[0];
  const value = type === "application/json" ? await answer.json() : await answer.text();
  hold(method, path, answer.status, path === "/{asset}" && answer.ok ? "*/*" : type, value, place);
  return value;
}

const pin = "4711"; // everybody's, in the fake server

/** Accounts: each change taken, each refusal there is. */
async function hold_people(reader) {
  const admin = (await ask("POST", "/api/v1/session", { body: { person: "admin-1", pin }, status: 200 })).token;
  const parameter = "demo-newcomer";
  const example = (path) => description.paths[path].post.requestBody.content?.["application/json"].example;
  await ask("GET", "/api/v1/people", { token: admin, status: 200 });
  await ask("GET", "/api/v1/people", { status: 401 });
  await ask("GET", "/api/v1/people", { token: reader, status: 403 });
  await ask("POST", "/api/v1/people", { body: example("/api/v1/people"), token: admin, status: 201 });
  await ask("POST", "/api/v1/people", { body: example("/api/v1/people"), token: admin, status: 400 });
  let code;
  for (const what of ["roles", "qualification", "unlock", "code"]) {
    const path = `/api/v1/people/{person}/${what}`;
    const body = example(path);
    const answer = await ask("POST", path, { parameter, body, token: admin, status: 200 });
    code = answer.code;
    await ask("POST", path, { parameter: "nobody", body, token: admin, status: 404 });
    await ask("POST", path, { parameter, body: { ...body, colour: "red" }, token: admin, status: 400 });
    await ask("POST", path, { parameter, body, token: reader, status: 403 });
    await ask("POST", path, { parameter, body, status: 401 });
    await ask("POST", path, { parameter, body: "{}", token: admin, headers: { "content-type": "text/plain" }, status: 415 });
    await ask("POST", path, { parameter, body: " ".repeat(70000), token: admin, status: 413 });
  }
  const by_code = (await ask("POST", "/api/v1/session", { body: { person: parameter, code }, status: 200 })).token;
  await ask("GET", "/api/v1/session", { token: by_code, status: 200 });
  await ask("POST", "/api/v1/session/pin", { body: { pin: "1234" }, token: by_code, status: 400 });
  const first = (await ask("POST", "/api/v1/session/pin", { body: { pin }, token: by_code, status: 200 })).token;
  await ask("POST", "/api/v1/session/pin", { body: { pin: "2580", old_pin: "9999" }, token: first, status: 403 });
  const { token } = await ask("POST", "/api/v1/session/pin", { body: { pin: "2580", old_pin: pin }, token: first, status: 200 });
  await ask("POST", "/api/v1/session/confirm", { body: { pin: "2580" }, token, status: 200 });
  await ask("POST", "/api/v1/session/confirm", { body: {}, token, status: 400 });
  await ask("POST", "/api/v1/session/confirm", { body: { pin: "2580" }, token: first, status: 401 });
  for (let i = 0; i < 5; i += 1) await ask("POST", "/api/v1/session/confirm", { body: { pin }, token, status: 403 });
  await ask("POST", "/api/v1/session/confirm", { body: { pin: "2580" }, token, status: 429 });
  await ask("POST", "/api/v1/session", { body: { person: parameter, pin: "2580" }, status: 429 });
  await ask("POST", "/api/v1/people/{person}/removal", { parameter: "admin-1", token: admin, status: 400 });
  await ask("POST", "/api/v1/people/{person}/removal", { parameter: "nobody", token: admin, status: 404 });
  await ask("POST", "/api/v1/people/{person}/removal", { parameter, token: admin, status: 200 });
}

/** The workshop: a calibration from beginning to end, a trial, a draft and its release. */
async function hold_workshop() {
  const at = (path) => `/api/v1/workshop/${path}`;
  const example = (path) => description.paths[at(path)].post.requestBody.content["application/json"].example;
  const sign_in = async (person) => (await ask("POST", "/api/v1/session", { body: { person, pin }, status: 200 })).token;
  const token = await sign_in("tech-1");
  const reviewer = await sign_in("rev-1");
  const post = (path, body, status, more = {}) => ask("POST", at(path), { body, token, status, ...more });
  for (const path of ["calibration", "health", "due", "trial", "drafts"]) {
    await ask("GET", at(path), { status: 200 });
    await ask("GET", at(path), { status: 403, headers: { origin: "null" } });
  }
  await ask("GET", at("trial/report"), { status: 404 });
  for (const path of ["calibration", "calibration/runs", "calibration/readings", "calibration/finish", "calibration/leave", "trial", "drafts"]) {
    await ask("POST", at(path), { body: example(path), status: 401 });
    await post(path, example(path), 403, { token: reviewer });
    await post(path, { colour: "red" }, 400);
    await post(path, "{}", 415, { headers: { "content-type": "text/plain" } });
    await post(path, " ".repeat(70000), 413);
  }
  await post("calibration", example("calibration"), 200);
  await post("calibration/leave", example("calibration/leave"), 200);
  await post("calibration/leave", example("calibration/leave"), 422);
  await post("calibration", { ...example("calibration"), resolution: "0.2 kN" }, 200);
  await post("calibration", example("calibration"), 422);
  for (let run = 1; run <= 3; run += 1) {
    await post("calibration/runs", { cell_angle: `${(run - 1) * 120} deg` }, 200);
    for (let step = 1; step <= 5; step += 1)
      await post("calibration/readings", { run, step, cell: `${120 * step + run / 10} kN`, indicated: `${120 * step} kN` }, 200);
    await post("calibration/readings", { run, step: 0, indicated: "0 kN" }, 200);
  }
  await post("calibration/readings", { run: 9, step: 1, cell: "120 kN" }, 400);
  await post("calibration/readings", example("calibration/readings"), 200); // once more: the first is kept as discarded
  await post("calibration/finish", { due: "2032-05-01" }, 403);
  await post("calibration/finish", { due: "2039-05-01", pin }, 422);
  await post("calibration/finish", example("calibration/finish"), 200);
  await ask("GET", at("calibration"), { status: 200 }); // with an earlier one now

  await post("trial", { recipe: "no-such" }, 400);
  await post("trial", { recipe: "straight-shank-3-16-7x19", fittings: 1000 }, 202);
  await ask("DELETE", at("trial"), { status: 401 });
  await ask("DELETE", at("trial"), { token, status: 200 });
  const ended = async () => {
    for (;;) {
      const trial = await ask("GET", at("trial"), { status: 200 });
      if (trial.state !== "running") return trial;
      await new Promise((done) => setTimeout(done, 100));
    }
  };
  await ended();
  await post("trial", { recipe: "straight-shank-3-16-7x19", fittings: 1000 }, 202);
  await post("trial", { recipe: "straight-shank-3-16-7x19" }, 422);
  const { number } = await ended();
  await ask("GET", at("trial/report"), { status: 200 });
  await post("drafts", { trial: 99 }, 422);
  const { draft } = await post("drafts", { trial: number }, 201);
  const other = (await post("drafts", { trial: number }, 201)).draft;
  await ask("GET", at("drafts"), { status: 200 });
  await ask("GET", at("drafts/{draft}"), { parameter: draft.id, status: 200 });
  await ask("GET", at("drafts/{draft}"), { parameter: "nobody.r1", status: 404 });
  const release = at("drafts/{draft}/release");
  const signed = { reason: "tried on five parts", pin };
  await ask("POST", release, { parameter: draft.id, body: signed, status: 401 });
  await ask("POST", release, { parameter: draft.id, body: signed, token, status: 403 });
  await ask("POST", release, { parameter: draft.id, body: { reason: "tried", pin: "9999" }, token: reviewer, status: 403 });
  await ask("POST", release, { parameter: draft.id, body: { reason: " ", pin }, token: reviewer, status: 400 });
  await ask("POST", release, { parameter: "nobody.r1", body: signed, token: reviewer, status: 404 });
  await ask("POST", release, { parameter: draft.id, body: signed, token: reviewer, status: 200 });
  const drop = at("drafts/{draft}/drop");
  await ask("POST", drop, { parameter: "nobody.r1", body: { reason: "wrong" }, token, status: 404 });
  await ask("POST", drop, { parameter: other.id, body: { reason: "made twice" }, token, status: 200 });
  for (const each of [token, reviewer]) await ask("DELETE", "/api/v1/session", { token: each, status: 200 });
}

/** Search by one text, exports, integrity, and a job's life. */
async function hold_desk(reader) {
  const sign_in = async (person) => (await ask("POST", "/api/v1/session", { body: { person, pin }, status: 200 })).token;
  const reviewer = await sign_in("rev-1");
  const operator = await sign_in("op-1");
  await ask("GET", "/api/v1/fittings", { query: "?ask=caliper-1%20held%202031-05&limit=2", status: 200 });
  await ask("GET", "/api/v1/fittings", { query: "?ask=2031-02-30", status: 400 });
  for (const form of ["csv", "json"]) {
    const path = `/api/v1/fittings.${form}`;
    await ask("GET", path, { query: "?ask=held", status: 200 });
    await ask("GET", path, { query: "?limit=2", status: 400 });
    await ask("GET", path, { headers: { origin: "null" }, status: 403 });
  }
  const proof = "/api/v1/fittings/{serial}/integrity";
  await ask("GET", proof, { parameter: "S-0001", status: 200 });
  await ask("GET", proof, { parameter: "BROKEN", status: 200 });
  await ask("GET", proof, { parameter: "none", status: 404 });
  await ask("GET", proof, { parameter: "FAULTY", status: 503 });
  await ask("GET", "/api/v1/integrity", { status: 200 });
  await ask("POST", "/api/v1/integrity", { status: 401 });
  await ask("POST", "/api/v1/integrity", { token: operator, status: 403 });
  await ask("POST", "/api/v1/integrity", { body: { colour: "red" }, token: reviewer, status: 400 });
  await ask("POST", "/api/v1/integrity", { body: {}, token: reviewer, status: 202 });
  await ask("POST", "/api/v1/integrity", { token: reviewer, status: 200 });
  await ask("GET", "/api/v1/integrity", { status: 200 });

  const jobs = "/api/v1/jobs";
  const one = `${jobs}/{job}`;
  const job = description.paths[jobs].post.requestBody.content["application/json"].example;
  const parameter = job.id;
  const token = reader; // plan-1
  for (const path of [jobs, `${jobs}/check`]) {
    await ask("POST", path, { body: job, status: 401 });
    await ask("POST", path, { body: job, token: operator, status: 403 });
    await ask("POST", path, { body: "[", token, status: 400 });
    await ask("POST", path, { body: "{}", token, headers: { "content-type": "text/plain" }, status: 415 });
    await ask("POST", path, { body: " ".repeat(70000), token, status: 413 });
  }
  const strained = structuredClone(job);
  strained.assemblies[0].tension = "15 kN";
  for (const body of [job, {}, strained]) await ask("POST", `${jobs}/check`, { body, token, status: 200 });
  await ask("POST", jobs, { body: {}, token, status: 400 });
  await ask("POST", jobs, { body: strained, token, status: 409 });
  const { job: kept } = await ask("POST", jobs, { body: job, token, status: 201 });
  await ask("POST", jobs, { body: job, token, status: 409 });
  await ask("GET", jobs, { status: 200 });
  await ask("GET", one, { parameter, status: 200 });
  await ask("GET", one, { parameter: "none", status: 404 });
  await ask("POST", one, { parameter, body: { of: kept.entry }, token, status: 400 });
  await ask("POST", one, { parameter, body: { of: kept.entry, job }, status: 401 });
  await ask("POST", one, { parameter, body: { of: kept.entry, job }, token, status: 200 });
  await ask("POST", one, { parameter, body: { of: kept.entry, job }, token, status: 409 });
  for (const [what, wrong] of [["sheet", "unit=ell"], ["table.csv", "table=parts"]]) {
    await ask("GET", `${one}/${what}`, { parameter, query: "?unit=in", status: 200 });
    await ask("GET", `${one}/${what}`, { parameter, query: `?${wrong}`, status: 400 });
    await ask("GET", `${one}/${what}`, { parameter: "none", status: 404 });
  }
  const withdrawal = `${one}/withdrawal`;
  await ask("POST", withdrawal, { parameter, body: {}, token, status: 400 });
  await ask("POST", withdrawal, { parameter: "none", body: { reason: "demo" }, token, status: 404 });
  await ask("POST", withdrawal, { parameter, body: description.paths[withdrawal].post.requestBody.content["application/json"].example, token, status: 200 });
  await ask("GET", `${one}/sheet`, { parameter, status: 409 });
  for (const each of [reviewer, operator]) await ask("DELETE", "/api/v1/session", { token: each, status: 200 });
}

try {
  const { token } = await ask("POST", "/api/v1/session", { body: { person: "all-1", pin }, status: 200 });
  const reader = (await ask("POST", "/api/v1/session", { body: { person: "plan-1", pin }, status: 200 })).token;
  await ask("POST", "/api/v1/session", { body: { person: "nobody", pin }, status: 401 });
  await ask("POST", "/api/v1/session", { body: { persona: "op-1" }, status: 400 });
  await ask("POST", "/api/v1/session", { body: "a", headers: { "content-type": "text/plain" }, status: 415 });
  await ask("POST", "/api/v1/session", { body: "a".repeat(70000), status: 413 });
  await ask("POST", "/api/v1/session", { body: {}, headers: { origin: "http://elsewhere.example" }, status: 403 });
  await ask("GET", "/api/v1/session", { token, status: 200 });
  await ask("GET", "/api/v1/session", { status: 401 });
  for (const path of ["/api/v1/station", "/api/v1/library", "/api/v1/quarantine", "/api/v1/fittings", "/openapi.yaml", "/api/v1/openapi.yaml", "/"]) {
    await ask("GET", path, { status: 200 });
    await ask("GET", path, { headers: { origin: "null" }, status: 403 });
  }
  const page = await ask("GET", "/", { status: 200 });
  await ask("GET", "/{asset}", { parameter: /\/(assets\/[^"]+)/.exec(page)[1], status: 200 });
  await ask("GET", "/{asset}", { parameter: "none.txt", status: 404 });
  await ask("GET", "/api/v1/fittings", { query: "?limit=2&verdict=accepted", status: 200 });
  const all = await ask("GET", "/api/v1/fittings", { status: 200 });
  const verdicts = new Set(all.fittings.map((row) => row.verdict));
  for (const verdict of description.components.schemas.ListedVerdict.enum)
    if (!verdicts.has(verdict)) faults.push(`no fitting listed as ${verdict}`);
  await ask("GET", "/api/v1/fittings", { query: "?limit=0", status: 400 });
  for (const stage of description.components.schemas.Stage.enum)
    await ask("GET", "/api/v1/fittings/{serial}", { parameter: `AT-${stage}`, status: 200 });
  await ask("GET", "/api/v1/fittings/{serial}", { parameter: "none", status: 404 });
  await ask("GET", "/api/v1/fittings/{serial}/dossier", { parameter: "S-0001", status: 200 });
  await ask("GET", "/api/v1/fittings/{serial}/dossier", { parameter: "none", status: 404 });
  for (const paper of ["dossier.pdf", "certificate", "label.svg"]) {
    const path = `/api/v1/fittings/{serial}/${paper}`;
    await ask("GET", path, { parameter: "S-0001", query: "?units=inch", status: 200 });
    await ask("GET", path, { parameter: "S-0001", query: "?units=furlong", status: 400 });
    await ask("GET", path, { parameter: "S-0001", headers: { origin: "null" }, status: 403 });
    await ask("GET", path, { parameter: "none", status: 404 });
  }
  await ask("GET", "/api/v1/fittings/{serial}/certificate", { parameter: "S-0002", status: 409 });

  const start = description.paths["/api/v1/fittings"].post.requestBody.content["application/json"].example;
  await ask("POST", "/api/v1/fittings", { body: start, token, status: 201 });
  await ask("POST", "/api/v1/fittings", { body: { ...start, recipe: "withdrawn" }, token, status: 409 });
  await ask("POST", "/api/v1/fittings", { body: start, status: 401 });
  await ask("POST", "/api/v1/fittings", { body: start, token: reader, status: 403 });
  await ask("POST", "/api/v1/fittings", { body: {}, token, status: 400 });

  // Every act: each example body taken, then every refusal there is.
  for (const [path, item] of Object.entries(description.paths)) {
    for (const method of ["post", "delete"]) {
      const operation = item[method];
      const of_fitting = path.startsWith("/api/v1/fittings/{serial}/");
      const act = of_fitting || /^\/api\/v1\/(press|quarantine|shift)/.test(path);
      if (operation === undefined || !act) continue;
      const name = method.toUpperCase();
      const content = operation.requestBody?.content?.["application/json"];
      const signed = path.endsWith("/disposition") ? { pin } : {};
      const bodies = content?.examples === undefined ? [undefined, {}] : Object.values(content.examples).map((example) => ({ ...example.value, ...signed }));
      const taken = Number(Object.keys(operation.responses).find((status) => status.startsWith("2")));
      for (const body of bodies) await ask(name, path, { parameter: "AT-gauge", body, token, status: taken });
      const body = bodies[0];
      await ask(name, path, { parameter: "AT-gauge", body: { ...body, colour: "red" }, token, status: 400 });
      await ask(name, path, { parameter: "AT-gauge", body, status: 401 });
      await ask(name, path, { parameter: "AT-gauge", body, token, headers: { origin: "null" }, status: 403 });
      await ask(name, path, { parameter: "AT-gauge", body: "{}", token, headers: { "content-type": "text/plain" }, status: 415 });
      await ask(name, path, { parameter: "AT-gauge", body: " ".repeat(70000), token, status: 413 });
      if (!of_fitting) continue;
      await ask(name, path, { parameter: "none", body, token, status: 404 });
      await ask(name, path, { parameter: "REFUSES", body, token, status: 409 });
      await ask(name, path, { parameter: "FAULTY", body, token, status: 503 });
    }
  }

  // Control of the press: held here, so that another screen is refused, and taken over.
  const other = (await ask("POST", "/api/v1/session", { body: { person: "op-1", pin }, status: 200 })).token;
  await ask("POST", "/api/v1/fittings", { body: start, token, status: 201 });
  const refused = await ask("POST", "/api/v1/fittings", { body: start, token: other, status: 409 });
  if (refused.refusals?.[0]?.code !== "control_held_elsewhere") faults.push(`two screens start fittings: ${JSON.stringify(refused)}`);
  await ask("POST", "/api/v1/press/control", { body: {}, token: other, status: 409 });
  await ask("POST", "/api/v1/press/control", { body: { from: "all-1" }, token: other, status: 200 });
  const { control } = await ask("GET", "/api/v1/station", { token: other, status: 200 });
  if (control?.here !== true || control.person !== "op-1") faults.push(`control after taking it over: ${JSON.stringify(control)}`);
  await ask("DELETE", "/api/v1/press/control", { token: other, status: 200 });
  await ask("DELETE", "/api/v1/session", { token: other, status: 200 });

  // The stream: three events, each a StationEvent on one line.
  const stop = new AbortController();
  const stream = await fetch(`${base}/api/v1/events`, { signal: stop.signal });
  if (!(stream.headers.get("content-type") ?? "").startsWith("text/event-stream")) faults.push("GET /api/v1/events: not an event stream");
  let text = "";
  for await (const piece of stream.body) {
    text += Buffer.from(piece).toString("utf8");
    if (text.split("\n\n").length > 3) break;
  }
  stop.abort();
  seen.add("GET /api/v1/events 200");
  const blocks = text.split("\n\n").slice(0, 3);
  blocks.forEach((block, index) => {
    const data = block.split("\n").find((line) => line.startsWith("data: "));
    const event = JSON.parse(data.slice(6));
    if (!ajv.validate("station.json#/components/schemas/StationEvent", event))
      faults.push(`event ${index}: ${ajv.errorsText(undefined, { separator: "\n    " })}`);
    if (event.samples.rows.length !== (index === 0 ? 50 : 0)) faults.push(`event ${index}: ${event.samples.rows.length} rows`);
  });

  await hold_workshop();
  await hold_desk(reader);
  await hold_people(reader);
  await ask("DELETE", "/api/v1/session", { token, status: 200 });
  await ask("DELETE", "/api/v1/session", { token, status: 401 });
} finally {
  server.stdin.end();
}

// 3. Every success that is described was seen.
for (const [path, item] of Object.entries(description.paths))
  for (const [method, operation] of Object.entries(item))
    for (const status of Object.keys(operation.responses ?? {}))
      if (status.startsWith("2") && !seen.has(`${method.toUpperCase()} ${path} ${status}`))
        faults.push(`${method.toUpperCase()} ${path}: its ${status} was never seen`);

console.log(`${seen.size} pairs of route and status held against the description`);
for (const fault of faults) console.error(fault);
process.exit(faults.length === 0 ? 0 : 1);
