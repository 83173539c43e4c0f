"""Figures of the record at scale: export, verify, dossier, size. Ratios against another program in the same run.

    SHANKWRIGHT=... HISTORY_GENERATOR=... record_figures.py

A record is generated (FITTINGS, 3000 by default, with every entry and trace), or SHANKWRIGHT_RECORD names one. Times are
processor seconds of the child, user and system, the least of three runs that take turns: other work on the machine then
counts little.

  export   rows a second against sqlite3's own CSV export of the same columns in the same order; goal at least 0.7
  verify   bytes a second against b2sum -l 256 of as many bytes (the record's file); goal at least 0.7
  dossier  one serial with its traces, the whole command from start to end; goal under 20 ms
"""
import os
import sqlite3
import subprocess
import tempfile

SHANKWRIGHT = os.environ["SHANKWRIGHT"]
COLUMNS = ("serial, verdict, stage, started_utc_us, changed_utc_us, recipe_id, recipe_revision, job, operator_id,"
           " rope_lot, terminal_lot, die_pair_id")


def run(*command):
    """Processor seconds, and the most memory in kB."""
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise SystemExit(f"{command[:2]} ended with {child.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss


def least(*commands):
    """Of each command the least time of three, in turns, and its most memory."""
    rounds = [[run(*command) for command in commands] for _ in range(3)]
    return [(min(one[index][0] for one in rounds), max(one[index][1] for one in rounds))
            for index in range(len(commands))]


def sizes(file, fittings):
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as record:
        tables = {}
        try:
            for name, size in record.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name"):
                tables["texts" if name.startswith("texts") else name] = (
                    tables.get("texts" if name.startswith("texts") else name, 0) + size)
        except sqlite3.OperationalError:
            print("sizes of tables: this SQLite has no dbstat; asking the sqlite3 program")
            listed = subprocess.run(["sqlite3", "-readonly", file,
                                     "SELECT name, sum(pgsize) FROM dbstat GROUP BY name"],
                                    capture_output=True, text=True, check=True).stdout
            for line in listed.splitlines():
                name, size = line.split("|")
                name = "texts" if name.startswith("texts") else name
                tables[name] = tables.get(name, 0) + int(size)
        samples, packed = record.execute("SELECT sum(samples), sum(length(bytes)) FROM traces").fetchone()
    print(f"{os.path.getsize(file) / fittings:.0f} bytes a fitting:")
    for name, size in sorted(tables.items(), key=lambda item: -item[1]):
        if size / fittings >= 5:
            print(f"  {name:<34} {size / fittings:8.0f}")
    if samples:
        print(f"traces: {packed / samples:.3f} bytes a sample, raw counts 8")


def main():
    with tempfile.TemporaryDirectory() as folder:
        data = os.environ.get("SHANKWRIGHT_RECORD")
        if not data:
            data = os.path.join(folder, "data")
            wanted = os.environ.get("FITTINGS", "3000")
            seconds, memory = run(os.environ["HISTORY_GENERATOR"], "--data", data, "--fittings", wanted)
            print(f"generating: {float(wanted) / seconds:.0f} fittings a processor second, {memory / 1024:.0f} MB")
        file = os.path.join(data, "record.sqlite3")
        with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as record:
            fittings, serial = record.execute("SELECT count(*), max(serial) FROM fitting_index").fetchone()
        print(f"{fittings} fittings, {os.path.getsize(file) / 1e6:.0f} MB")
        ours, theirs = least([SHANKWRIGHT, "export", "--csv", "--data", data],
                             ["sqlite3", "-readonly", "-header", "-csv", file,
                              f"SELECT {COLUMNS} FROM fitting_index ORDER BY number"])
        print(f"export: {fittings / ours[0]:.0f} rows/s in {ours[1] / 1024:.0f} MB, sqlite3 {fittings / theirs[0]:.0f}"
              f" rows/s; ratio {theirs[0] / ours[0]:.2f} (goal at least 0.7)")
        ours, theirs = least([SHANKWRIGHT, "verify", "--data", data], ["b2sum", "-l", "256", file])
        print(f"verify: {os.path.getsize(file) / 1e6 / ours[0]:.0f} MB/s, b2sum"
              f" {os.path.getsize(file) / 1e6 / theirs[0]:.0f} MB/s; ratio {theirs[0] / ours[0]:.2f} (goal at least 0.7)")
        ours, = least([SHANKWRIGHT, "trace", serial, "--json", "--data", data])
        print(f"dossier with traces: {1000 * ours[0]:.1f} ms from start to end (goal under 20 ms)")
        sizes(file, fittings)


main()
