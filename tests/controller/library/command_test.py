"""`shankwright recipe check` as people and other programs meet it: what it prints and how it exits."""

import json
import pathlib
import shutil
import subprocess
import sys
import tempfile


def run(*arguments):
    return subprocess.run([PROGRAM, "recipe", *arguments], capture_output=True, text=True, timeout=60, check=False)


def expect(condition, what, result):
    if not condition:
        raise SystemExit(f"{what}\nexit {result.returncode}\n{result.stdout}\n{result.stderr}")


def main(shipped):
    sound = run("check", str(shipped))
    expect(sound.returncode == 0, "the shipped library has no faults", sound)
    expect(sound.stdout.endswith("files checked: 0 faults, 0 warnings\n"), "a summary line ends the output", sound)

    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name) / "library"
        shutil.copytree(shipped, folder)
        rope = folder / "ropes" / "rope-3-16-7x19.yaml"
        rope.write_text(rope.read_text().replace("construction: 7x19", "construction: 7x91").replace("3700 lbf", "3700"))

        faulty = run("check", str(rope))
        expect(faulty.returncode == 1, "faults exit 1", faulty)
        lines = faulty.stdout.splitlines()
        expect(lines[0].startswith(f"{rope}:2:15: found 7x91, expected one of 1x19, 7x7, 7x19"), "file:line:column first", faulty)
        expect(lines[1].startswith(f"{rope}:6:25: found 3700, expected a force with its unit"), "every fault, in order", faulty)
        expect(lines[2] == "1 file checked: 2 faults, 0 warnings", "a summary line ends the output", faulty)

        data = run("check", "--json", str(rope))
        expect(data.returncode == 1, "faults exit 1 as JSON too", data)
        out = json.loads(data.stdout)
        expect(set(out) == {"faults", "warnings", "files"} and out["files"] == 1, "the three members", data)
        expect([(f["file"], f["line"], f["column"], f["found"]) for f in out["faults"]]
               == [(str(rope), 2, 15, "7x91"), (str(rope), 6, 25, "3700")], "places taken apart", data)

        # A file name may hold a colon, and bytes that are no text; the output stays JSON.
        odd = folder / "ropes" / "a:1.yaml"
        odd.write_bytes(b"id: \xff\n")
        out = json.loads(run("check", "--json", str(odd)).stdout)
        expect([(f["file"], f["line"], f["column"]) for f in out["faults"]] == [(str(odd), 1, 5)], "an odd name", data)

        unreadable = run("check", str(folder / "none.yaml"))
        expect(unreadable.returncode == 3, "unreadable exits 3", unreadable)
        out = json.loads(run("check", "--json", str(folder / "none.yaml")).stdout)
        expect(out["faults"][0]["line"] is None and out["files"] == 0, "no line where there is none", unreadable)

    for wrong in ((), ("check",), ("check", "--jsn", str(shipped)), ("chekc",)):
        usage = run(*wrong)
        expect(usage.returncode == 2, f"wrong usage exits 2: {wrong}", usage)
    usage = run("check", "--help")
    expect(usage.returncode == 0 and "--json" in usage.stdout and "not a safety function" in usage.stdout, "help", usage)
    print("recipe check: as documented")


if __name__ == "__main__":
    PROGRAM = sys.argv[1]
    main(pathlib.Path(sys.argv[2]))
