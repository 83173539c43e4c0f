// The built page at the real HTTP server over fakes (tests/hmi/fake_server.cpp), in a browser. FAKE_SERVER names the program.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { open_browser } from "./browser.mjs";

const program = process.env.FAKE_SERVER;
/** For node's test(): nothing can be tried without the program. */
export const options = program === undefined ? { skip: "FAKE_SERVER is not set: tests/hmi/web/run BUILD_FOLDER" } : {};

export class Served {
  async begin() { ({ browser: this.browser, close: this.close } = await open_browser()); }
  async end() { await this.close(); }

  /** A server of its own for each test, and a page that complains of nothing yet. */
  async open(how) {
    if (program === undefined) return;
    this.server = spawn(program, { stdio: ["pipe", "pipe", "inherit"] });
    const port = await new Promise((take) => createInterface(this.server.stdout).once("line", take));
    this.address = `http://127.0.0.1:${port}`;
    await this.open_page(how);
  }
  async leave() {
    if (program === undefined) return;
    await this.context.close();
    this.server.stdin.end();
  }

  async open_page(how) {
    await this.context?.close();
    this.context = await this.browser.newContext(how);
    this.page = await this.context.newPage();
    this.page.setDefaultTimeout(30_000);
    this.complaints = [];
    this.page.on("pageerror", (error) => this.complaints.push(String(error)));
    this.page.on("console", (message) => {
      // A refused request is part of the work; anything else in the console is a fault of the page.
      if (message.type() === "error" && !/status of 4\d\d/.test(message.text())) this.complaints.push(message.text());
    });
  }

  /** Through the interface, as another page of the same browser would. */
  async sign_in(id) {
    const done = await this.context.request.post(`${this.address}/api/v1/session`, { data: { person: id, pin: "4711" } });
    assert.equal(done.status(), 200);
  }
}
