#!/usr/bin/python3
"""The simulated press's fault model and its bench over HTTP, seen from outside: each fault does what
simulators/README.md says it does, ends when its window ends, and the press is well afterwards.

    node_faults.py BINARY SOURCE_DIR [TestClass...]"""
import json
import os
import signal
import subprocess
import sys
import time
import unittest

from node_world import CLEAR_FAULT, PERMIT, Modbus, ModbusException, Silence, Sim

BINARY, SOURCE = sys.argv[1], sys.argv[2]
RECIPES = os.path.join(SOURCE, "recipes")


def start(*options, seed=11):
    return Sim(BINARY, "--recipes", RECIPES, "--seed", str(seed), *options)


class Line(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.sim = start("--die-tag", "105")

    @classmethod
    def tearDownClass(cls):
        cls.sim.__exit__()

    def setUp(self):
        self.master = Modbus.tcp(self.sim.port, timeout_s=0.4)

    def tearDown(self):
        self.sim.bench("fault", {"none": True})
        time.sleep(0.05)
        self.master.close()
        again = Modbus.tcp(self.sim.port)  # every fault leaves a press that answers
        self.assertEqual(again.inputs(0, 1), [1])
        again.close()

    def again(self):
        self.master.close()
        self.master = Modbus.tcp(self.sim.port, timeout_s=0.4)

    def put(self, **fault):
        self.sim.bench("fault", fault)
        time.sleep(0.05)

    def test_a_dropped_link_closes_connections_refuses_new_ones_and_comes_back(self):
        self.put(link_dropped=True, for_ms=400)
        with self.assertRaises((Silence, OSError)):
            self.master.inputs(0, 1)
            self.master.inputs(0, 1)
        with self.assertRaises(OSError):
            Modbus.tcp(self.sim.port)
        time.sleep(0.6)
        Modbus.tcp(self.sim.port).close()

    def test_silence_takes_nothing_and_answers_nothing(self):
        before = self.master.holding()
        self.put(silent=True)
        with self.assertRaises(Silence):
            self.master.write_one(8, 4321)
        self.put(none=True)
        self.again()
        self.assertEqual(self.master.holding(), before)

    def test_lost_answers_hide_writes_that_were_taken(self):
        self.put(answers_lost=True)
        with self.assertRaises(Silence):
            self.master.write_one(8, 4322)
        self.put(none=True)
        self.again()
        self.assertEqual(self.master.holding(8, 1), [4322])

    def test_delayed_answers_come_late_and_right(self):
        self.put(answer_delay_ms=150)
        begin = time.monotonic()
        self.assertEqual(self.master.inputs(0, 1), [1])
        self.assertGreaterEqual(time.monotonic() - begin, 0.15)

    def test_every_request_may_get_an_exception(self):
        self.put(exception_code=6)
        for act in (lambda: self.master.inputs(), lambda: self.master.write_one(0, 1)):
            with self.assertRaises(ModbusException) as caught:
                act()
            self.assertEqual(caught.exception.code, 6)

    def test_garbled_heads_never_pass_for_the_answer(self):
        self.put(garbled=True)
        for _ in range(10):
            master = Modbus.tcp(self.sim.port, timeout_s=0.1)
            raw = bytes.fromhex("123400000006010400000001")
            master.send(raw)
            answer = master.receive(1)
            self.assertNotEqual(answer[:8], bytes.fromhex("1234000000050104"))
            master.close()

    def test_half_frames_stop_in_the_middle(self):
        self.put(half_frames=True)
        self.master.send(bytes.fromhex("123400000006010400000064"))  # all hundred: 209 bytes
        self.assertEqual(len(self.master.receive(1)), 104)

    def test_a_frozen_beat_stands_still_while_the_rest_goes_on(self):
        self.put(beat_frozen=True)
        first = self.master.inputs()
        self.sim.bench("guard", {"closed": False})
        time.sleep(0.1)
        second = self.master.inputs()
        self.sim.bench("guard", {"closed": True})
        self.assertEqual(first[1], second[1])
        self.assertEqual((first[4] >> 1 & 1, second[4] >> 1 & 1), (1, 0))
        self.put(none=True)
        self.assertNotEqual(self.master.inputs(1, 1), [first[1]])

    def test_a_frozen_image_repeats_itself_whole(self):
        self.put(image_frozen=True)
        first = self.master.inputs()
        self.sim.bench("guard", {"closed": False})
        time.sleep(0.1)
        second = self.master.inputs()
        self.sim.bench("guard", {"closed": True})
        self.assertEqual(first, second)


class Machine(unittest.TestCase):
    def bite(self, sim, **limits):
        sim.part_in_the_dies()
        sim.order(PERMIT, **limits)
        sim.bench("hands", {"on": True})
        image, rows, missing = sim.run_bite(until=lambda image: image[2] in (1, 6) and image[4] >> 4 & 1)
        sim.bench("hands", {"on": False})
        return image, rows, missing

    def test_a_low_relief_valve_gives_too_little_force_and_a_stroke_time_out(self):
        with start("--fault", "relief_valve_bar=90") as sim:
            image, rows, _ = self.bite(sim, timeout=4000)
            self.assertEqual(image[3], 6)
            self.assertLess(image[16], 1000)
            self.assertEqual(image[17], 0)

    def test_a_frozen_pressure_sensor_shows_a_flat_trace_and_ends_in_a_time_out(self):
        with start() as sim:
            sim.bench("fault", {"sensor": "pressure_frozen"})
            image, rows, _ = self.bite(sim, timeout=4000)
            self.assertEqual(image[3], 6)
            self.assertEqual(len({row[1] for row in rows}), 1)
            self.assertEqual(image[13], 1)

    def test_a_dead_gap_sensor_is_fault_8_and_hot_oil_fault_9_and_both_can_be_cleared(self):
        with start("--die-tag", "105") as sim:
            for fault, code in (({"gap_dead": True}, 8), ({"oil_temperature_c": 85}, 9)):
                sim.bench("fault", fault)
                end = time.monotonic() + 20
                while sim.master.inputs(3, 1) != [code] and time.monotonic() < end:
                    time.sleep(0.05)
                self.assertEqual(sim.master.inputs(2, 2), [6, code])
                sim.order(PERMIT)
                self.assertEqual(sim.master.inputs(22, 1), [5])
                sim.order(CLEAR_FAULT)
                self.assertEqual(sim.master.inputs(3, 1), [code])  # its cause still stands
                sim.bench("fault", {"none": True})
                if code == 9:
                    sim.bench("fault", {"oil_temperature_c": 40})  # hot oil cools slowly by itself
                while sim.master.inputs(3, 1) != [0] and time.monotonic() < end:
                    time.sleep(0.05)
                    sim.order(CLEAR_FAULT)
                self.assertEqual(sim.master.inputs(2, 2), [1, 0])

    def test_a_gap_sensor_that_is_off_shows_another_gap_at_closure(self):
        with start("--fault", "gap_offset_mm=0.3") as sim:
            image, _, _ = self.bite(sim)
            self.assertAlmostEqual(image[18], 300, delta=60)

    def test_lost_samples_are_seen_as_missing(self):
        with start("--fault", "sample_hole_every=100") as sim:
            image, rows, missing = self.bite(sim)
            self.assertEqual(image[2:4], [1, 0])
            self.assertGreater(missing, 2)

    def test_air_in_the_oil_takes_longer_to_the_target(self):
        def time_to_target(*options):
            with start(*options) as sim:
                image, rows, _ = self.bite(sim)
                self.assertEqual(image[2:4], [1, 0], image[:25])
                return next(row[0] for row in rows if row[1] >= 1300)
        self.assertGreater(time_to_target("--fault", "air_fraction=0.1"), time_to_target())


class BenchHttp(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.sim = start()

    @classmethod
    def tearDownClass(cls):
        cls.sim.__exit__()

    def refused(self, status, path, body, content_type="application/json", place=None, headers=()):
        got, text = self.sim.http(path, body, content_type, headers)
        self.assertEqual(got, status, text)
        problem = json.loads(text)["problem"]
        self.assertEqual(set(problem), {"place", "found", "expected"})
        if place:
            self.assertEqual(problem["place"], place)

    def test_the_page_is_one_file_that_asks_nobody_else(self):
        status, text = self.sim.http("/")
        self.assertEqual(status, 200)
        page = text.decode()
        self.assertIn("This is a simulation", page)
        self.assertNotIn("http://", page)
        self.assertNotIn("https://", page)
        self.assertNotIn("src=", page)

    def test_bodies_that_do_not_fit_are_told_where(self):
        self.refused(400, "/bench/position", {"edge": 1.85}, place="/edge")
        self.refused(400, "/bench/position", {"edge": "1.85"}, place="/edge")
        self.refused(400, "/bench/position", {}, place="/edge")
        self.refused(400, "/bench/position", {"egde": "1.85 mm"}, place="/egde")
        self.refused(400, "/bench/hands", {"on": 1}, place="/on")
        self.refused(400, "/bench/die", {"tag": 65536}, place="/tag")
        self.refused(400, "/bench/die", {"tag": 999}, place="/tag")
        self.refused(400, "/bench/part", {"recipe": "none-such"}, place="/recipe")
        self.refused(400, "/bench/part", {"recipe": "straight-shank-3-16-7x19", "rope": "6x36"}, place="/rope")
        self.refused(400, "/bench/part", {"recipe": "straight-shank-3-16-7x19", "unlike": {"shank_diameter": 9}},
                     place="/unlike/shank_diameter")
        self.refused(400, "/bench/fault", {"relief_valve_bar": "low"}, place="/relief_valve_bar")
        self.refused(400, "/bench/fault", {"gremlins": True}, place="/gremlins")
        self.refused(400, "/bench/hands", b"{", place="body")
        self.refused(400, "/bench/hands", b"[]", place="/")
        self.refused(415, "/bench/hands", b'{"on":true}', content_type="text/plain")
        self.refused(403, "/bench/hands", {"on": True}, headers={"Origin": "http://elsewhere.example"})
        self.refused(413, "/bench/hands", b" " * 70000)
        self.refused(404, "/bench/unheard_of", {})
        self.refused(404, "/nowhere", None)
        self.assertFalse(self.sim.bench()["hands"])

    def test_what_cannot_be_done_yet_is_a_409_that_says_why(self):
        with start() as sim:
            self.sim, keep = sim, self.sim
            try:
                self.refused(409, "/bench/measure", {"kind": "shank_diameter", "gauge": "caliper-1"})
                self.refused(409, "/bench/insert", {"short_by": "0 mm"})
                self.refused(400, "/bench/measure", {"kind": "shank_diameter", "gauge": "none-such"}, place="/gauge")
            finally:
                self.sim = keep

    def test_readings_come_as_bodies_that_the_station_takes(self):
        sim = self.sim
        sim.part_in_the_dies()
        for kind, gauge, key, count in (("rope_diameter", "caliper-1", "values", 3),
                                        ("shank_diameter", "micrometer-1", "values", 1),
                                        ("insertion", "rule-1", "values", 1),
                                        ("position", "rule-1", "values", 1)):
            body = sim.bench("measure", {"kind": kind, "gauge": gauge})
            self.assertEqual(set(body), {"kind", "gauge", key})
            self.assertEqual(len(body[key]), count)
            for text in body[key]:
                number, unit = text.split()
                float(number)
                self.assertEqual(unit, "mm")
        self.assertTrue(sim.bench("measure", {"kind": "turn", "gauge": "protractor-1"})["values"][0].endswith(" deg"))
        self.assertEqual(sim.bench("measure", {"kind": "surface"})["result"], "sound")
        self.assertEqual(sim.bench("measure", {"kind": "go_gauge"})["result"], "stops")  # not pressed yet

    def test_the_same_seed_gives_the_same_parts_and_another_seed_others(self):
        def part(seed):
            with start(seed=seed) as sim:
                sim.bench("part", {"recipe": "straight-shank-3-16-7x19"})
                return sim.bench()["part"]
        self.assertEqual(part(3), part(3))
        self.assertNotEqual(part(3)["shank_diameter_mm"], part(4)["shank_diameter_mm"])


class CommandLine(unittest.TestCase):
    def run_it(self, *options):
        return subprocess.run([BINARY, "press-sim", *options], capture_output=True, text=True, timeout=20)

    def test_it_ends_cleanly_at_both_signals(self):
        for with_signal in (signal.SIGTERM, signal.SIGINT):
            sim = start()
            sim.master.inputs()
            self.assertEqual(sim.end(with_signal), 0)
            sim.master.close()

    def test_a_port_in_use_is_exit_3_and_says_which(self):
        with start() as sim:
            for options in (["--listen", f"127.0.0.1:{sim.port}", "--bench", "127.0.0.1:0"],
                            ["--listen", "127.0.0.1:0", "--bench", f"127.0.0.1:{sim.bench_port}"]):
                done = self.run_it(*options, "--recipes", RECIPES)
                self.assertEqual(done.returncode, 3, done.stderr)
                self.assertIn(options[1] if str(sim.port) in options[1] else options[3], done.stderr)
                self.assertEqual(done.stdout, "")

    def test_wrong_usage_is_exit_2(self):
        for options in (["--listen", "nowhere"], ["--listen", "127.0.0.1:70000"], ["--seed", "x"], ["--no-such"],
                        ["--mark-sensor", "maybe"], ["--fault", "gremlins"], ["--fault", "relief_valve_bar"],
                        ["--die-tag", "999"], ["--press", "none-such"]):
            done = self.run_it(*options, "--recipes", RECIPES)
            self.assertEqual(done.returncode, 2, (options, done.stderr))

    def test_a_serial_device_that_is_not_there_is_exit_3(self):
        done = self.run_it("--listen", "127.0.0.1:0", "--bench", "127.0.0.1:0", "--recipes", RECIPES,
                           "--rtu", "/dev/no-such-line")
        self.assertEqual(done.returncode, 3)
        self.assertIn("/dev/no-such-line", done.stderr)

    def test_help_names_every_fault(self):
        done = self.run_it("--help")
        self.assertEqual(done.returncode, 0)
        for name in ("link_dropped", "relief_valve_bar", "sample_hole_every", "--rtu", "--seed"):
            self.assertIn(name, done.stdout)

    def test_drawn_faults_are_told_so_that_the_run_can_be_repeated(self):
        done = subprocess.Popen([BINARY, "press-sim", "--listen", "127.0.0.1:0", "--bench", "127.0.0.1:0", "--recipes",
                                 RECIPES, "--seed", "5", "--random-faults", "4"], stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, text=True)
        try:
            self.assertIn("seed 5", done.stdout.readline())
        finally:
            done.terminate()
            _, told = done.communicate(timeout=10)
        self.assertEqual(done.returncode, 0)
        self.assertEqual(sum("fault drawn: " in line for line in told.splitlines()), 4)

    def test_sensors_that_are_not_fitted_say_so(self):
        with start("--mark-sensor", "none", "--angle-encoder", "none", "--position-sensor", "none") as sim:
            sim.part_in_the_dies()
            image = sim.master.inputs()
            self.assertEqual(image[4] >> 9 & 0b111, 0)
            self.assertEqual([image[4] >> 7 & 1, image[6], image[10]], [0, 0, 0])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[3:]], verbosity=2)
