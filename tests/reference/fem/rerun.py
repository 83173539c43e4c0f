#!/usr/bin/python3
"""Runs one finite-element reference case again and compares it with the stored points.

  rerun.py CASE [--folder DIR]        CASE as named in ../fem_points.csv or ../fem_points_more.csv

Needs CalculiX (Debian package calculix-ccx) and numpy (python3-numpy); about half a minute for a small case on a mesh of 3 by
20 elements. Exit 0 when force and growth at every stored gap agree within 1.5 % and 0.15 points, 1 when not, 3 without the tools.
"""
import argparse
import csv
import os
import shutil
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
FORCE_WITHIN = 0.015
GROWTH_WITHIN = 0.0015


def stored_points(case):
    points = []
    for name in ("fem_points.csv", "fem_points_more.csv"):
        with open(os.path.join(HERE, "..", name)) as file:
            rows = csv.DictReader(line for line in file if not line.startswith("#"))
            points += [row for row in rows if row["case"] == case]
    return points


def deck_arguments(row, second):
    solid = float(row["bore_mm"]) == 0
    arguments = ["g" if solid else "a", "out=rerun", "porous=1", "elem=C3D20R", "nr=3", "nt=20",
                 "D0=%s" % float(row["shank_od_mm"]), "W=%s" % float(row["across_flats_mm"]),
                 "mu=%s" % float(row["friction"]), "Fz=%s" % float(row["axial_force_n"]), "second=%d" % second]
    if not solid:
        arguments.append("d0=%s" % float(row["bore_mm"]))
        arguments += ["d=%s" % float(row["rope_diameter_mm"]), "C=%s" % float(row["metal_area_factor"])]
    if row.get("strength_mpa"):
        arguments += ["Ksh=%s" % float(row["strength_mpa"]), "nsh=%s" % float(row["hardening"]),
                      "sy=%s" % float(row["yield_mpa"]), "axcore=%d" % float(row["grip"])]
    return arguments


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("case")
    parser.add_argument("--folder", default="fem_rerun")
    wanted = parser.parse_args()
    points = stored_points(wanted.case)
    if not points:
        sys.exit("no case %r in the reference points" % wanted.case)
    if points[0]["shape"] == "round":
        sys.exit("round cases need a finer mesh than this script makes")
    if not shutil.which("ccx"):
        print("CalculiX (ccx) is not installed")
        return 3
    for sub in ("decks", "results"):
        os.makedirs(os.path.join(wanted.folder, sub), exist_ok=True)
    second = any(row["squeeze"] == "2" for row in points)
    env = dict(os.environ, OMP_NUM_THREADS="1")
    run = dict(cwd=wanted.folder, check=True, env=env, stdout=subprocess.DEVNULL)
    subprocess.run([sys.executable, os.path.join(HERE, "mesh_and_deck.py")] + deck_arguments(points[0], second), **run)
    subprocess.run(["ccx", "rerun"], **dict(run, cwd=os.path.join(wanted.folder, "decks")))
    subprocess.run([sys.executable, os.path.join(HERE, "results.py"), "rerun"], **run)
    with open(os.path.join(wanted.folder, "results", "rerun.csv")) as file:
        found = list(csv.DictReader(file))
    steps_of_first = max(int(float(row["step"])) for row in found if float(row["gap_mm"]) < 1e-6) if not second else None
    bad = 0
    for row in points:
        if row["gap_mm"] == "open" or (second and row["squeeze"] == "1"):
            continue
        near = [r for r in found if abs(float(r["gap_mm"]) - float(row["gap_mm"])) < 1e-5
                and (steps_of_first is None or int(float(r["step"])) <= steps_of_first)]
        if not near:
            print("gap %s mm: not reached" % row["gap_mm"])
            bad += 1
            continue
        force = float(near[-1]["force_N_per_mm"])
        growth = float(near[-1]["axial_strain"])
        force_off = force / float(row["force_n_per_mm"]) - 1
        growth_off = growth - float(row["growth"])
        good = abs(force_off) < FORCE_WITHIN and abs(growth_off) < GROWTH_WITHIN
        bad += not good
        print("gap %s mm: force %.0f N/mm (stored %s, %+.2f %%), growth %.3f %% (stored %.3f)%s" %
              (row["gap_mm"], force, row["force_n_per_mm"], 100 * force_off, 100 * growth, 100 * float(row["growth"]),
               "" if good else "  <-- differs"))
    print("%s: %s" % (wanted.case, "differs at %d gaps" % bad if bad else "repeated"))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
