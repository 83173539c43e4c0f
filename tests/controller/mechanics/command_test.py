#!/usr/bin/python3
"""`shankwright bite` as other programs call it: the options and JSON keys they rely on, and what is refused.

  command_test.py SHANKWRIGHT
"""
import json
import subprocess
import sys

BASE = ("bite --shank-od 9.12mm --bore 5.16mm --die hexagon --across-flats 7.95mm --friction 0.10 --flow-k 1275MPa --flow-n 0.45 "
        "--yield 240MPa --grip 0 --passes 2 --gaps 0.5mm,0.25mm,0mm").split()


def run(program, *arguments):
    return subprocess.run([program, *arguments], capture_output=True, text=True)


def near(value, wanted, share):
    assert abs(value / wanted - 1) < share, "%r, wanted %r within %g" % (value, wanted, share)


def changed(option, value):
    arguments = list(BASE)
    arguments[arguments.index(option) + 1] = value
    return arguments


def main():
    program = sys.argv[1]

    # Finite-element reference case tube_7x19 and its second squeeze (tests/reference, CalculiX 2.20).
    out = run(program, *BASE, "--rope", "7x19", "--rope-diameter", "4.76mm", "--json")
    assert out.returncode == 0, out.stderr
    answer = json.loads(out.stdout)
    points = {(p["pass"], p["gap_mm"]): p for p in answer["points"]}
    assert sorted(points) == [(1, 0), (1, 0.25), (1, 0.5), (2, 0), (2, 0.25), (2, 0.5)]
    for (which, gap), force in {(1, 0.5): 3339, (1, 0.25): 4039, (1, 0): 4748, (2, 0.5): 4022, (2, 0): 4942}.items():
        near(points[which, gap]["force_n_per_mm"], force, 0.02)
    near(points[1, 0]["growth"], 0.1149, 0.02)
    assert [a["pass"] for a in answer["after"]] == [1, 2]
    near(answer["after"][0]["growth"], 0.1128, 0.02)
    near(answer["after"][0]["across_flats_mm"], 7.987, 0.002)
    near(answer["after"][1]["growth"], 0.1816, 0.02)

    # The same question twice is the same answer.
    assert run(program, *BASE, "--rope", "7x19", "--rope-diameter", "4.76mm", "--json").stdout == out.stdout

    empty = json.loads(run(program, *BASE, "--rope", "none", "--json").stdout)
    near(empty["points"][2]["force_n_per_mm"], 3273, 0.02)
    solid = json.loads(run(program, *changed("--bore", "0mm"), "--rope", "none", "--json").stdout)
    near(solid["points"][2]["force_n_per_mm"], 6724, 0.02)
    round_die = json.loads(run(program, *changed("--die", "round"), "--rope", "none", "--json").stdout)
    near(round_die["points"][2]["force_n_per_mm"], 3804, 0.03)

    # Inches are the same lengths.
    inches = list(BASE)
    inches[inches.index("--shank-od") + 1] = "%.8fin" % (9.12 / 25.4)
    near(json.loads(run(program, *inches, "--json").stdout)["points"][2]["force_n_per_mm"],
         empty["points"][2]["force_n_per_mm"], 1e-4)

    # A person's table says what the numbers are and whose word comes first.
    text = run(program, *BASE, "--rope", "1x19", "--rope-diameter", "4.76mm").stdout
    for words in ("Pass 1", "quarter turn", "force N/mm", "across flats", "competent person"):
        assert words in text, text

    refused = {
        "a bare number": changed("--shank-od", "9.12"),
        "another dimension": changed("--shank-od", "9.12kN"),
        "no number": changed("--friction", "nan"),
        "a bore wider than the shank": changed("--bore", "9.5mm"),
        "a die nobody has": changed("--die", "square"),
        "a gap below closed": changed("--gaps", "0.5mm,-0.1mm"),
        "no passes": changed("--passes", "0"),
        "a rope without diameter": BASE + ["--rope", "7x7"],
        "another construction": BASE + ["--rope", "6x19", "--rope-diameter", "4mm"],
        "a rope too thick to enter": BASE + ["--rope", "7x7", "--rope-diameter", "5.3mm"],
        "a misspelt option": BASE + ["--ropes", "none"],
        "nothing at all": ["bite"],
    }
    for what, arguments in refused.items():
        out = run(program, *arguments)
        assert out.returncode == 2, "%s: exit %d\n%s%s" % (what, out.returncode, out.stdout, out.stderr)
        assert out.stdout == "" and out.stderr, what
    small = run(program, *changed("--across-flats", "6.5mm"), "--rope", "1x19", "--rope-diameter", "5mm")
    assert small.returncode == 1 and "parting line" in small.stderr, small
    assert run(program, "bite", "--help").returncode == 0
    print("bite answers as told, and refuses %d ways" % len(refused))


if __name__ == "__main__":
    main()
