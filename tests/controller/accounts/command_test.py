#!/usr/bin/python3
"""The command `account` on a data folder that a station has left: everything goes on record, one-time codes open the page of
the next station, and while a station is at work its page is named instead.
"""
import fcntl
import json
import os
import pathlib
import stat
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "faults"))
import floor  # pylint: disable=wrong-import-position


def run(*arguments):
    return subprocess.run([os.environ["SHANKWRIGHT"], "account", *arguments], capture_output=True, text=True, check=False)


class Command(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()  # pylint: disable=consider-using-with
        self.addCleanup(self.folder.cleanup)
        station = floor.Station(self.folder.name, "tcp:127.0.0.1:1").start()
        self.code = station.code
        self.assertEqual(station.end(), 0)
        self.data = f"{self.folder.name}/data"

    def account(self, *arguments, exit_code=0):
        done = run(*arguments, "--data", self.data)
        self.assertEqual(done.returncode, exit_code, done.stdout + done.stderr)
        return done

    def people(self):
        return {one["id"]: one for one in json.loads(self.account("list", "--json").stdout)["people"]}

    def test_a_person_is_added_qualified_given_a_code_and_removed(self):
        self.assertRegex(self.code, r"^[0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}$")
        self.assertEqual(set(self.people()), {"ada", "ben", "cleo", "dan", "eli", "administrator"})
        self.account("add", "eve", "Eve Example", "--role", "operator")
        self.account("roles", "eve", "--role", "operator", "--role", "reviewer")
        self.account("qualify", "eve", "straight-shank-hexagon", "2031-12-31")
        eve = self.people()["eve"]
        self.assertEqual(eve["roles"], ["operator", "reviewer"])
        self.assertEqual(eve["qualified"], {"straight-shank-hexagon": "2031-12-31"})
        code = json.loads(self.account("code", "eve", "--json").stdout)["code"]
        self.assertTrue(self.people()["eve"]["code_waits"])

        station = floor.Station(self.folder.name, "tcp:127.0.0.1:1").start()
        self.addCleanup(station.kill)
        station.set_pin("eve", code)
        self.assertEqual(station.call("GET", "/session")[1]["person"]["id"], "eve")
        refused = self.account("list", exit_code=3)
        self.assertIn("use its page", refused.stderr)
        self.assertEqual(station.end(), 0)
        self.assertTrue(self.people()["eve"]["has_pin"])
        self.assertEqual(stat.S_IMODE(os.stat(f"{self.data}/credentials.json").st_mode), 0o600)
        self.account("remove", "eve")
        self.assertNotIn("eve", self.people())
        self.assertIn("Eve Example", self.account("add", "eve", "Somebody Else", exit_code=1).stderr)

    def test_wrong_usage_and_refusals(self):
        self.account("roles", "nobody", "--role", "operator", exit_code=1)
        self.account("roles", "ada", "--role", "king", exit_code=2)
        self.account("qualify", "ada", "straight-shank-hexagon", "tomorrow", exit_code=2)
        self.assertEqual(run().returncode, 2)
        self.assertEqual(run("list", "--data", self.folder.name + "/none").returncode, 3)
        self.assertFalse(pathlib.Path(self.folder.name, "none").exists())
        self.assertEqual(run("--help").returncode, 0)

    def test_a_lost_administrator_gets_a_new_code_on_the_console(self):
        station = floor.Station(self.folder.name, "tcp:127.0.0.1:1").start()
        station.set_pin("administrator", station.code)
        self.assertEqual(station.end(), 0)
        station = floor.Station(self.folder.name, "tcp:127.0.0.1:1").start()
        self.assertIsNone(station.code, "there is an administrator: nothing is printed")
        self.assertEqual(station.end(), 0)
        station = floor.Station(self.folder.name, "tcp:127.0.0.1:1", more=["--new-administrator-code"]).start()
        self.addCleanup(station.kill)
        station.set_pin("administrator", station.code)

    def test_the_lock_is_asked_and_not_the_process_list(self):
        with open(f"{self.data}/writer.lock", "r+", encoding="ascii") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            self.assertIn("use its page", self.account("unlock", "ada", exit_code=3).stderr)
        self.account("unlock", "ada")


if __name__ == "__main__":
    unittest.main()
