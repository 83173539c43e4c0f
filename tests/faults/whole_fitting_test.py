#!/usr/bin/python3
"""A whole fitting by the station process on a press node that shares no code with the project, over TCP and over RTU.

Goal: the contract of the press map is enough to press a fitting from admission to release. Method: the operator follows
the station's `next`; the node plays a sound part, an empty shank, and a press in trouble.
"""
import json
import subprocess
import sys
import tempfile
import time
import unittest

import floor


class WholeFitting(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()  # pylint: disable=consider-using-with
        self.addCleanup(self.folder.cleanup)

    def open(self, rtu=False):
        if rtu:
            ends = [f"{self.folder.name}/press", f"{self.folder.name}/station"]
            line = subprocess.Popen(["socat", *(f"pty,raw,echo=0,link={end}" for end in ends)])
            self.addCleanup(line.wait)
            self.addCleanup(line.kill)
            time.sleep(0.3)
            node = floor.Node(rtu=ends[0])
            press = f"rtu:{ends[1]}:115200:8N1"
        else:
            node = floor.Node()
            press = f"tcp:127.0.0.1:{node.port}"
        self.addCleanup(node.stop)
        station = floor.Station(self.folder.name, press, scan_ms=20).start()
        self.addCleanup(station.kill)
        station.sign_in()
        operator = floor.Operator(station, node)
        operator.wait_for_press()
        return node, station, operator

    def check_released(self, station, fitting):
        self.assertEqual(fitting["stage"], "released", fitting["standing"])
        dossier = station.call("GET", f"/fittings/{fitting['serial']}/dossier")[1]
        self.assertTrue(dossier)
        self.assertEqual(fitting["bites_done"], fitting["bites_in_pass"] * fitting["passes"])

    def test_over_tcp(self):
        _, station, operator = self.open()
        serial = operator.begin()["serial"]
        self.check_released(station, operator.run(serial))
        self.assertEqual(station.end(), 0)

    def test_over_a_serial_line(self):
        _, station, operator = self.open(rtu=True)
        serial = operator.begin()["serial"]
        self.check_released(station, operator.run(serial))

    def test_without_any_sensor(self):
        node, station, operator = self.open()
        node.ask({"set": {"mark_sensor_fitted": False, "angle_encoder_fitted": False, "position_sensor_fitted": False}})
        serial = operator.begin()["serial"]
        self.check_released(station, operator.run(serial))

    def test_an_empty_shank_is_held(self):
        node, station, operator = self.open()
        serial = operator.begin()["serial"]
        fitting = operator.run(serial, until=("position",))
        while fitting["next"]["code"] != "ask_permit":
            fitting = operator.step(serial)
        # finite-element cases tube_empty and tube_7x19 at gap 0.25 mm: 2955 and 4039 N/mm
        node.resist(fitting, share=2955 / 4039)
        operator.post(serial, "/permit")
        operator.node = None  # nothing sets the resistance back
        end = time.monotonic() + 20
        while station.fitting(serial)["stage"] != "hold" and time.monotonic() < end:
            time.sleep(0.05)
        fitting = station.fitting(serial)
        self.assertEqual(fitting["stage"], "hold")
        self.assertIn("force_below_envelope", [finding["code"] for finding in fitting["standing"]])

    def test_stored_traces_are_read_for_diagnosis_and_envelope(self):
        _, station, operator = self.open()
        serial = operator.begin()["serial"]
        self.check_released(station, operator.run(serial))
        station.end()
        data = f"{self.folder.name}/data"
        library = str(floor.ROOT / "recipes")

        told = floor.run("trace", serial, "--diagnose", "--json", "--data", data, "--library", library)
        self.assertIn(told.returncode, (0, 1), told.stderr)
        bites = json.loads(told.stdout)["bites"]
        self.assertEqual([(bite["pass"], bite["bite"]) for bite in bites], [(1, 1), (1, 2), (2, 1), (2, 2)])
        for bite in bites:
            # The node's bites end below the target: no press does that, and the program says why it tells nothing.
            self.assertIn("target", bite["not_diagnosed"])
        self.assertEqual(floor.run("trace", "SW-999999-XX", "--diagnose", "--data", data).stdout, "")

        envelope = floor.run("recipe", "envelope", floor.RECIPE, "--json", "--data", data, "--library", library)
        self.assertEqual(envelope.returncode, 0, envelope.stderr)
        told = json.loads(envelope.stdout)
        self.assertEqual(told["fittings"], 0, "nothing is learned from bites that cannot be diagnosed")
        for one in told["passes"]:
            gaps = [at["gap_mm"] for at in one["force"]]
            self.assertEqual(gaps, sorted(gaps, reverse=True))
            for at in one["force"]:
                self.assertLess(at["least_kn"], at["middle_kn"])
                self.assertLess(at["middle_kn"], at["most_kn"])

    def test_every_condition_of_the_press_is_named(self):
        node, station, operator = self.open()
        serial = operator.begin()["serial"]
        fitting = operator.run(serial, until=("position",))
        while fitting["next"]["code"] != "ask_permit":
            fitting = operator.step(serial)
        for part, bad, code in (("guard_closed", False, "guard_open"), ("remote_selected", False, "press_in_local_control"),
                                ("emergency_healthy", False, "emergency_circuit_open"), ("die_tag", 9, "die_tag_other"),
                                ("mark_seen", False, "mark_sensor_sees_no_mark"), ("edge_distance_mm", -1.0, "die_over_solid")):
            good = {"die_tag": floor.die_tag(), "edge_distance_mm": fitting["planned_edge_mm"]}.get(part, True)
            node.ask({"set": {part: bad}})
            time.sleep(0.1)
            status, answer = station.call("POST", f"/fittings/{serial}/permit")
            self.assertEqual(status, 409, part)
            self.assertEqual([refusal["code"] for refusal in answer["refusals"]], [code])
            node.ask({"set": {part: good}})
        time.sleep(0.1)
        self.assertEqual(node.ask({"get": True})["acted"], [], "the press heard of a permit that was refused")
        self.assertEqual(station.call("POST", f"/fittings/{serial}/permit")[0], 200)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v", *sys.argv[1:]])
