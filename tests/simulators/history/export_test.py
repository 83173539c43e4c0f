"""Does `shankwright export` write files that other programs read, with exactly what is on record?

    export_test.py SHANKWRIGHT HISTORY_GENERATOR

A generated record is exported; CSV is read by Python's csv module (RFC 4180), JSON lines by its json module, and both
are compared with the record's own table, read by Python's sqlite3. Names with commas, quotes and line breaks are put
into that table's copy first: the index is no evidence and may be altered in a test.
"""
import csv
import io
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import unittest

SHANKWRIGHT, GENERATOR = sys.argv[1:3]
NASTY = {3: 'a, "b"', 4: "line\r\nbreak", 5: "=1+1", 6: "", 7: "Geländer ü €", 8: '"', 9: "tab\tbell\x07 back\\slash"}


def run(*arguments):
    return subprocess.run([SHANKWRIGHT, *arguments], capture_output=True, check=False)


class Export(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.data = os.path.join(cls.folder.name, "data")
        subprocess.run([GENERATOR, "--data", cls.data, "--fittings", "120"], check=True, capture_output=True)
        record = sqlite3.connect(os.path.join(cls.data, "record.sqlite3"))
        for number, job in NASTY.items():
            record.execute("UPDATE fitting_index SET job = ? WHERE number = ?", (job, number))
        record.commit()
        cls.rows = record.execute(
            "SELECT serial, verdict, stage, recipe_id, recipe_revision, job, operator_id, rope_lot, terminal_lot,"
            " die_pair_id FROM fitting_index ORDER BY number").fetchall()
        record.close()

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_csv_reads_back_as_the_record(self):
        done = run("export", "--csv", "--data", self.data)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(done.stderr, b"")
        text = done.stdout.decode()
        self.assertTrue(text.endswith("\r\n"))
        read = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
        names = ["serial", "verdict", "stage", "recipe", "revision", "job", "operator", "rope_lot", "terminal_lot",
                 "die_pair"]
        self.assertEqual([tuple(row[name] for name in names) for row in read],
                         [tuple(str(cell) for cell in row) for row in self.rows])
        for row in read:
            self.assertRegex(row["started_utc"], r"^20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$")
            self.assertNotIn(None, row)

    def test_json_lines_read_back_as_the_record(self):
        done = run("export", "--json", "--data", self.data)
        self.assertEqual(done.returncode, 0, done.stderr)
        read = [json.loads(line) for line in done.stdout.decode().split("\n")[:-1]]
        self.assertEqual(len(read), len(self.rows))
        self.assertEqual([(row["serial"], row["verdict"], row["stage"], row["recipe"], row["revision"], row["job"],
                           row["operator"], row["rope_lot"], row["terminal_lot"], row["die_pair"]) for row in read],
                         self.rows)

    def test_entries_and_bites_come_with_it(self):
        done = run("export", "--json", "--entries", "--bites", "--serial", "SW-00001", "--data", self.data)
        self.assertEqual(done.returncode, 0, done.stderr)
        rows = [json.loads(line) for line in done.stdout.decode().split("\n")[:-1]]
        self.assertEqual(len(rows), 10)
        record = sqlite3.connect(os.path.join(self.data, "record.sqlite3"))
        for row in rows:
            kept = record.execute("SELECT sequence, body_json FROM entries WHERE serial = ? ORDER BY sequence",
                                  (row["serial"],)).fetchall()
            self.assertEqual([(entry["sequence"], entry["body"]) for entry in row["entries"]],
                             [(sequence, json.loads(body)) for sequence, body in kept])
            samples = dict(record.execute("SELECT sequence, samples FROM traces JOIN entries USING (sequence)"
                                          " WHERE serial = ?", (row["serial"],)))
            self.assertEqual({entry["sequence"]: len(entry["rows"]) for entry in row["entries"] if "rows" in entry},
                             samples)
        record.close()

    def test_conditions_choose_and_exit_codes_tell(self):
        some = run("export", "--csv", "--verdict", "accepted", "--data", self.data)
        self.assertEqual(some.returncode, 0)
        read = list(csv.DictReader(io.StringIO(some.stdout.decode(), newline="")))
        self.assertEqual([row["serial"] for row in read], [row[0] for row in self.rows if row[1] == "accepted"])
        none = run("export", "--csv", "--job", "nobody knows", "--data", self.data)
        self.assertEqual(none.returncode, 1)
        self.assertEqual(len(none.stdout.decode().split("\r\n")), 2)  # the heading stands
        self.assertIn(b"no fitting", none.stderr)
        for wrong in (["export"], ["export", "--csv", "--json"], ["export", "--csv", "--entries"],
                      ["export", "--csv", "--from", "yesterday"]):
            self.assertEqual(run(*wrong, "--data", self.data).returncode, 2, wrong)
        self.assertEqual(run("export", "--csv", "--data", self.folder.name + "/none").returncode, 3)
        full = subprocess.run(f"{SHANKWRIGHT} export --csv --data {self.data} > /dev/full", shell=True,
                              capture_output=True, check=False)
        self.assertEqual(full.returncode, 3)

    def test_find_takes_the_same_conditions(self):
        found = run("find", "--json", "--text", "demo certificate", "--gauge", "caliper-1-1", "--limit", "500", "--data",
                    self.data)
        written = run("export", "--json", "--text", "demo certificate", "--gauge", "caliper-1-1", "--data", self.data)
        if found.returncode == 0:
            self.assertEqual([row["serial"] for row in json.loads(found.stdout)["fittings"]],
                             [json.loads(line)["serial"] for line in written.stdout.decode().split("\n")[:-1]])
        else:
            self.assertEqual((found.returncode, written.returncode), (1, 1))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
