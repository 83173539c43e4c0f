#!/usr/bin/python3
"""F = p A with the unit factors of GNU units (Debian package units), not ours: what `recipe plan` says of pressures and limits.

  gnu_units_test.py SHANKWRIGHT RECIPES
"""
import json
import re
import subprocess
import sys


def gnu_units(have, want):
    out = subprocess.run(["units", "-t", have, want], check=True, capture_output=True, text=True).stdout
    return float(out)


def quantity(path, key):
    with open(path) as file:
        return re.search(r"^%s: *([^#\n]+)" % key, file.read(), re.M).group(1).strip()


def main():
    program, recipes = sys.argv[1:3]
    press = recipes + "/presses/press-1.yaml"
    area = quantity(press, "ram_area").replace("cm2", "cm^2").replace("mm2", "mm^2")
    pressure = quantity(press, "pressure_max")
    capacity = quantity(press, "capacity").replace("tonnef", "tonne force").replace("tonne force", "* 1000 kgf")
    run = subprocess.run([program, "recipe", "plan", "straight-shank-3-16-7x19", "--library", recipes, "--json"],
                         capture_output=True, text=True)
    assert run.returncode in (0, 1), run.stderr
    plan = json.loads(run.stdout)
    limits = {margin["of"]: margin["limit_kn"] for margin in plan["margins"]}
    checks = [
        ("press capacity", limits["press capacity"], gnu_units(capacity, "kN")),
        ("press pressure", limits["press pressure"], gnu_units("%s * %s" % (pressure, area), "kN")),
        ("target pressure", plan["target_bar"], gnu_units("%.9g kN / (%s)" % (plan["target_kn"], area), "bar")),
        ("needed pressure", plan["needed_bar"], gnu_units("%.9g kN / (%s)" % (plan["needed_kn"], area), "bar")),
    ]
    bad = 0
    for name, ours, theirs in checks:
        good = abs(ours / theirs - 1) < 1e-6
        bad += not good
        print("%s: %.6g, GNU units %.6g%s" % (name, ours, theirs, "" if good else "  <-- differs"))
    # The 150 tonnes-force of the press in kN, from the definition of standard gravity.
    assert abs(gnu_units("150 * 1000 kgf", "kN") - 1470.9975) < 1e-6
    print("agreed" if not bad else "%d differ" % bad)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
