"""`shankwright plan` as people and other programs meet it: what it prints and how it exits."""

import csv
import io
import json
import pathlib
import subprocess
import sys
import tempfile


def run(*arguments):
    return subprocess.run([PROGRAM, "plan", "--library", str(ROOT / "recipes"), *map(str, arguments)],
                          capture_output=True, text=True, timeout=60, check=False)


def expect(condition, what, result):
    if not condition:
        raise SystemExit(f"{what}\nexit {result.returncode}\n{result.stdout}\n{result.stderr}")


def planned(folder):
    job = ROOT / "simulators" / "demo_data" / "jobs" / "shrouds-5mm.yaml"
    text = run(job)
    expect(text.returncode == 0, "a sound job exits 0", text)
    expect("CUT LENGTH" in text.stdout and "Bill of parts" in text.stdout, "account and bill", text)
    expect("not a safety function" in " ".join(text.stdout.split()), "the cautions", text)
    data = run(job, "--json")
    out = json.loads(data.stdout)
    expect(data.returncode == 0 and not out["refusals"] and len(out["assemblies"]) == 2, "everything as JSON", data)
    for assembly in out["assemblies"]:
        total = sum(line["value_mm"] for line in assembly["account"])
        expect(abs(total - assembly["cut_length_mm"]) < 1e-6, "the account adds up", data)
    table = run(job, "--csv", "cuts", "--unit", "in")
    rows = list(csv.DictReader(io.StringIO(table.stdout)))
    expect(abs(float(rows[0]["cut_length_in"]) * 25.4 - out["assemblies"][0]["cut_length_mm"]) < 0.013, "in inches", table)
    sheet = folder / "sheet.html"
    with_sheet = run(job, "--sheet", sheet)
    expect(with_sheet.returncode == 0 and sheet.read_text().startswith("<!doctype html>"), "a sheet", with_sheet)
    expect(run(job, "--sheet", folder / "no" / "such.html").returncode == 3, "no place for the sheet exits 3", with_sheet)
    expect(run(job, "--sheet", job).returncode == 3 and job.read_text().startswith("# Demo"), "the job is not overwritten", text)


def refused(folder):
    source = (ROOT / "simulators" / "demo_data" / "jobs" / "shrouds-5mm.yaml").read_text()
    job = folder / "job.yaml"
    job.write_text(source.replace("tension: 3.2 kN", "tension: 20 kN"))
    sheet = folder / "none.html"
    result = run(job, "--sheet", sheet)
    expect(result.returncode == 1, "a refused job exits 1", result)
    expect(f"{job}:18:14: tension_too_high: found 20.00 kN" in result.stdout, "the place of what is wrong", result)
    expect(not sheet.exists(), "no sheet of a refused job", result)
    result = run(job, "--csv", "cuts")
    expect(result.returncode == 1 and result.stdout == "" and "tension_too_high" in result.stderr, "no rows", result)

    job.write_text(source.replace("5310 mm", "5310").replace("straight-shank-4-1x19", "straight-shank-4-1x91", 1))
    result = run(job)
    expect(result.returncode == 1, "a faulty job exits 1", result)
    lines = result.stdout.splitlines()
    expect(lines[0].startswith(f"{job}:28:17: found 5310, expected a length with its unit"), "file:line:column", result)
    expect(':33:' in lines[1] and 'the nearest is "straight-shank-4-1x19"' in lines[1], "the nearest name", result)
    out = json.loads(run(job, "--json").stdout)
    expect(len(out["faults"]) == 2 and out["job"] is None and out["bill"] is None, "faults as JSON", result)


def main():
    with tempfile.TemporaryDirectory() as name:
        planned(pathlib.Path(name))
        refused(pathlib.Path(name))
        gone = run(pathlib.Path(name) / "none.yaml")
        expect(gone.returncode == 3 and "no such file" in gone.stderr, "unreadable exits 3", gone)
    for wrong in ((), ("a", "b"), ("a", "--unit", "ft"), ("a", "--csv", "all"), ("a", "--json", "--csv", "cuts")):
        usage = run(*wrong)
        expect(usage.returncode == 2, f"wrong usage exits 2: {wrong}", usage)
    usage = run("--help")
    expect(usage.returncode == 0 and "--sheet" in usage.stdout and "not a safety function" in usage.stdout, "help", usage)
    print("plan: as documented")


if __name__ == "__main__":
    PROGRAM = sys.argv[1]
    ROOT = pathlib.Path(sys.argv[2])
    main()
