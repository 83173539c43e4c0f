#!/usr/bin/env python3
"""calibrate force: what it prints and how it exits. Usage: command_test.py SHANKWRIGHT SOURCE_FOLDER"""
import json
import pathlib
import subprocess
import sys
import tempfile

program, source = sys.argv[1], pathlib.Path(sys.argv[2])
demo = source / "simulators/demo_data/force_readings.yaml"
faults = []


def run(*arguments):
    return subprocess.run([program, "calibrate", "force", *map(str, arguments)], capture_output=True, text=True)


def expect(condition, what):
    if not condition:
        faults.append(what)


def changed(old, new):
    text = demo.read_text()
    assert old in text, old
    file = folder / "changed.yaml"
    file.write_text(text.replace(old, new, 1))
    return file


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    good = run(demo, "--json")
    expect(good.returncode == 0, f"the demo's readings: exit {good.returncode}: {good.stderr}")
    result = json.loads(good.stdout)
    # By hand, at 120 kN: q = 100 (120 - F) / F = 0.50251, 0.16694, 0.08340 %; b = 0.50251 - 0.08340 = 0.41911 %.
    step = result["steps"][0]
    for found, expected in zip(step["q_percent"], [0.50251, 0.16694, 0.08340]):
        expect(abs(found - expected) < 1e-4, f"q {found}, expected {expected}")
    expect(abs(step["b_percent"] - 0.41911) < 1e-4, f"b {step['b_percent']}")
    expect(result["class"] == "0.5" and result["meets"] is True, f"class {result['class']}")
    expect(result["ram_moved_between_runs"] is True, "the ram moved")

    text = run(demo)
    expect(text.returncode == 0 and "class 0.5" in text.stdout and text.stderr == "", text.stdout + text.stderr)
    worse = run(changed("cell: 597.9 kN", "cell: 585 kN"))
    expect(worse.returncode == 1 and "class 1 is needed: not met" in worse.stdout, worse.stdout)
    short = run(changed("    zero: 0.1 kN\n", ""), "--json")
    expect(short.returncode == 1, f"a reading missing: exit {short.returncode}")
    expect(json.loads(short.stdout)["shortfalls"][0]["code"] == "zero_missing", short.stdout)
    wrong = run(changed("range: 600 kN", "range: 600"))
    expect(wrong.returncode == 1 and "changed.yaml:5:8: found 600, expected" in wrong.stderr, wrong.stderr)
    expect(wrong.stdout == "", wrong.stdout)
    expect(run(folder / "none.yaml").returncode == 3, "no such file")
    expect(run().returncode == 2, "no file named")
    expect(run("--help").returncode == 0, "--help")

for fault in faults:
    print(fault, file=sys.stderr)
sys.exit(1 if faults else 0)
