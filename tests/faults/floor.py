"""A shop floor for tests of the whole program: station process, an independent press node, an operator over HTTP.

The press node (tests/drivers/pymodbus_node.py) shares no code with the project; its force is a ramp, set here to lie
inside the recipe's envelope. The operator does what the station's `next` asks for and nothing else.
"""
import datetime
import http.client
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request

import yaml

ROOT = pathlib.Path(__file__).resolve().parents[2]
RECIPE = "straight-shank-3-16-7x19"
GAUGES = {"rope_diameter": "caliper-1", "shank_diameter": "micrometer-1", "bore_depth": "depth-rod-1", "depth_mark": "rule-1",
          "boundary_mark": "rule-1", "insertion": "rule-1", "position": "rule-1", "growth": "caliper-1", "slip": "caliper-1",
          "straightness": "straight-edge-1", "across_flats": "micrometer-1", "turn": "protractor-1", "reseated": "protractor-1"}


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def write_shop(folder):
    """The demo's shop register with its due dates relative to today."""
    text = (ROOT / "simulators" / "demo_data" / "shop.yaml").read_text()
    today = datetime.datetime.now(datetime.timezone.utc).date()
    text = re.sub(r"@DAYS([+-]\d+)@", lambda found: str(today + datetime.timedelta(days=int(found[1]))), text)
    path = pathlib.Path(folder) / "shop.yaml"
    path.write_text(text)
    return path


def run(*arguments):
    """The program once, to its end."""
    return subprocess.run([os.environ["SHANKWRIGHT"], *arguments], capture_output=True, text=True, check=False)


def lots(shop_file):
    shop = yaml.safe_load(shop_file.read_text())
    recipe = yaml.safe_load(next((ROOT / "recipes" / "recipes").glob(f"{RECIPE}.r*.yaml")).read_text())
    rope = next(lot["id"] for lot in shop["rope_lots"] if lot["rope"] == recipe["rope"] and not lot["quarantined"])
    terminal = next(lot["id"] for lot in shop["terminal_lots"] if lot["terminal"] == recipe["terminal"] and not lot["quarantined"])
    return rope, terminal


def ram_area_mm2():
    area = yaml.safe_load((ROOT / "recipes" / "presses" / "press-1.yaml").read_text())["ram_area"]
    value, unit = area.split()
    return float(value) * {"mm2": 1, "cm2": 100}[unit]


def die_tag():
    recipe = yaml.safe_load(next((ROOT / "recipes" / "recipes").glob(f"{RECIPE}.r*.yaml")).read_text())
    return yaml.safe_load((ROOT / "recipes" / "dies" / f"{recipe['die_pair']}.yaml").read_text())["tag"]


class Node:
    """The independent press node and its control line."""

    def __init__(self, seed=1, rtu=None, hands=True):
        command = ["/usr/bin/python3", str(ROOT / "tests" / "drivers" / "pymodbus_node.py"), "--seed", str(seed), "--end-with-stdin"]
        if hands:
            command.append("--auto-hands")
        if rtu:
            command += ["--rtu", rtu]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        ready = json.loads(self.process.stdout.readline())
        self.port = ready["port"]
        self.line = socket.create_connection(("127.0.0.1", ready["control_port"]))
        self.file = self.line.makefile("rw")
        self.area = ram_area_mm2()
        self.ask({"set": {"die_tag": die_tag(), "open_gap_mm": 4.0, "contact_gap_mm": 0.7, "gap_mm": 4.0, "maximum_bar": 700.0,
                          "squeeze_mm_per_s": 3.0}})

    def ask(self, request):
        self.file.write(json.dumps(request) + "\n")
        self.file.flush()
        reply = json.loads(self.file.readline())
        if not reply.get("ok"):
            raise RuntimeError(reply)
        return reply

    def resist(self, fitting, share=1.0):
        """The node's straight ramp, laid through the bands of the coming bite, times `share`. It meets the faces well below
        the target force, so that the dies close."""
        envelope = fitting["envelope"]
        if len(envelope) < 2:
            return
        first, last = envelope[0], envelope[-1]
        best = None
        for low in range(1, 10):
            for high in range(1, 10):
                start = first["least_kn"] + (first["most_kn"] - first["least_kn"]) * low / 10
                end = last["least_kn"] + (last["most_kn"] - last["least_kn"]) * high / 10
                slope = (end - start) / (first["gap_mm"] - last["gap_mm"])
                force = [start + slope * (first["gap_mm"] - point["gap_mm"]) for point in envelope]
                room = min(min(kn - point["least_kn"], point["most_kn"] - kn) / point["most_kn"] for kn, point in zip(force, envelope))
                closed_kn = start + slope * first["gap_mm"]
                if slope > 0 and closed_kn < 0.93 * fitting["target_force_kn"] and (best is None or room > best[0]):
                    best = (room, start, slope)
        if best is None or best[0] <= 0:
            raise AssertionError(f"no straight ramp fits {envelope}")
        _, start, slope = best
        bar = share * 1e4 / self.area
        contact = first["gap_mm"] + 0.2
        self.ask({"set": {"contact_gap_mm": contact, "contact_bar": max(0.0, (start - slope * 0.2) * bar),
                          "ramp_bar_per_mm": slope * bar}})

    def stop(self):
        self.line.close()
        self.process.kill()
        self.process.wait()


class Station:
    """The station process and a signed-in client. People get their PINs by the ways the station has: its one-time code for the
    administrator, and the administrator's for everybody else. They are kept in the folder, for the stations after this one."""

    PIN = "4711"

    def __init__(self, folder, press, scan_ms=20, more=()):
        self.folder = pathlib.Path(folder)
        self.more = more
        self.press, self.scan_ms = press, scan_ms
        self.shop = self.folder / "shop.yaml"
        if not self.shop.exists():
            write_shop(self.folder)
        self.process = None
        self.token = None

    def start(self):
        binary = os.environ["SHANKWRIGHT"]
        self.log = open(self.folder / "station.log", "a")  # pylint: disable=consider-using-with
        self.process = subprocess.Popen(
            [binary, "station", "--shop", str(self.shop), "--data", str(self.folder / "data"), "--recipes", str(ROOT / "recipes"),
             "--profiles", str(ROOT / "drivers" / "profiles"), "--press", self.press, "--http", "127.0.0.1:0",
             "--scan-ms", str(self.scan_ms), *self.more], stdout=subprocess.PIPE, stderr=self.log, text=True)
        self.code = None
        line = self.process.stdout.readline()
        while line and not line.startswith("station ready"):
            code = re.match(r"one-time code for administrator: (\S+)", line)
            self.code = code[1] if code else self.code
            line = self.process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)", line)
        if not found:
            raise RuntimeError(f"the station did not start: {line!r}; see {self.folder / 'station.log'}")
        self.port = int(found[1])
        self.token = None
        return self

    def set_pin(self, person, code):
        """Signs in by a one-time code and sets the PIN."""
        self.token = self.expect(200, "POST", "/session", {"person": person, "code": code})["token"]
        self.token = self.expect(200, "POST", "/session/pin", {"pin": self.PIN})["token"]

    def sign_in(self, person="ada"):
        """Whoever signs in for the first time gets a PIN first."""
        known = self.folder / "with-pins.txt"
        have = known.read_text().split() if known.exists() else []
        self.token = None
        if person not in have:
            if "administrator" not in have:
                self.set_pin("administrator", self.code)
            else:
                self.token = self.expect(200, "POST", "/session", {"person": "administrator", "pin": self.PIN})["token"]
            if person != "administrator":
                code = self.expect(200, "POST", f"/people/{person}/code", {})["code"]
                self.token = None
                self.set_pin(person, code)
            known.write_text(" ".join({*have, "administrator", person}))
            return
        self.token = self.expect(200, "POST", "/session", {"person": person, "pin": self.PIN})["token"]

    def expect(self, wanted, *request):
        status, answer = self.call(*request)
        if status != wanted:
            raise AssertionError(f"{request[:2]}: {status} {answer}")
        return answer

    def call(self, method, path, body=None):
        """(status, JSON). Raises ConnectionError when the station is gone."""
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}/api/v1{path}", method=method)
        if body is not None or method == "POST":
            request.data = json.dumps(body or {}).encode()
            request.add_header("Content-Type", "application/json")
        if self.token:
            request.add_header("Authorization", f"Bearer {self.token}")
        try:
            with urllib.request.urlopen(request, timeout=20) as answer:
                return answer.status, json.loads(answer.read() or b"null")
        except urllib.error.HTTPError as error:
            try:
                return error.code, json.loads(error.read() or b"null")
            except (http.client.HTTPException, OSError) as cut:
                raise ConnectionError(str(cut)) from cut
        except (urllib.error.URLError, http.client.HTTPException, OSError, EOFError) as error:
            raise ConnectionError(str(error)) from error

    def state(self):
        return self.call("GET", "/station")[1]

    def fitting(self, serial):
        return self.call("GET", f"/fittings/{serial}")[1]["fitting"]

    def kill(self):
        if self.process:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process.stdout.close()
            self.log.close()
            self.process = None

    def end(self):
        """Ends as an administrator would; returns the exit code."""
        self.process.terminate()
        code = self.process.wait(timeout=10)
        self.process.stdout.close()
        self.log.close()
        self.process = None
        return code

    def memory_kb(self):
        status = pathlib.Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1])


class Operator:
    """Does what `next` asks for. `told` collects what the station reported as done: serial, path and answer."""

    def __init__(self, station, node):
        self.station, self.node = station, node
        self.told = []

    def post(self, serial, path, body=None):
        status, answer = self.station.call("POST", f"/fittings/{serial}{path}", body)
        if status == 200:
            self.told.append((serial, path, body))
        return status, answer

    def begin(self, job="test job"):
        self.node.ask({"set": {"angle": 0.0}})
        time.sleep(0.08)
        rope, terminal = lots(self.station.shop)
        status, answer = self.station.call("POST", "/fittings", {"recipe": RECIPE, "job": job, "rope_lot": rope, "terminal_lot": terminal})
        if status != 201:
            raise AssertionError(f"admission refused: {status} {answer}")
        self.told.append((answer["fitting"]["serial"], "/", None))
        return answer["fitting"]

    def wait_for_press(self, seconds=10):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if self.station.state()["press"]["fresh"]:
                return
            time.sleep(0.03)
        raise AssertionError("the press never became fresh: " + json.dumps(self.station.state()["press"]))

    def evidence(self, fitting, kind):
        wanted = fitting["next"]
        middle = (wanted["least"] + wanted["most"]) / 2
        body = {"kind": kind}
        if kind in GAUGES:
            body["gauge"] = GAUGES[kind]
        if kind == "position":
            middle = fitting["planned_edge_mm"]
            self.node.ask({"set": {"edge_distance_mm": middle}})
            time.sleep(0.08)  # the station sees it with its next scans
        if kind == "turn":
            self.node.ask({"set": {"angle": fitting["pass"] * 90.0 % 360}})
            time.sleep(0.08)
            body["values"] = ["90 deg"]
        elif kind == "reseated":
            body["values"] = ["0 deg"]
        elif kind == "across_flats":
            body["stations"] = [[f"{middle:.3f} mm"] * 3] * (wanted["readings"] // 3)
        elif kind == "go_gauge":
            body = {"kind": kind, "result": "passes"}
        elif kind == "no_go_gauge":
            body = {"kind": kind, "result": "stops"}
        elif kind == "surface":
            body["result"] = "sound"
        else:
            body["values"] = [f"{middle:.2f} mm"] * wanted["readings"]
        return body

    def step(self, serial):
        """One act. Returns the fitting after it."""
        fitting = self.station.fitting(serial)
        code = fitting["next"]["code"]
        if code == "ask_permit":
            self.node.resist(fitting)
            self.post(serial, "/permit")
        elif code in ("press_both_hands", "wait_for_dies", "wait_for_record"):
            time.sleep(0.02)
        elif code == "judge":
            self.post(serial, "/judge")
        elif code == "release":
            self.post(serial, "/release")
        elif code == "resume":
            self.post(serial, "/resume")
        elif code == "clear_fault":
            self.station.call("POST", "/press/clear-fault")
            time.sleep(0.05)
        elif fitting["next"]["input"]:
            status, answer = self.post(serial, "/evidence", self.evidence(fitting, fitting["next"]["input"]))
            if status == 400:
                raise AssertionError(answer)
        return self.station.fitting(serial)

    def run(self, serial, until=("released", "scrapped", "hold"), seconds=60):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            fitting = self.step(serial)
            if fitting["stage"] in until:
                return fitting
        raise AssertionError(f"{serial} never came to {until}: {json.dumps(fitting['next'])} {json.dumps(fitting['findings'])}")
