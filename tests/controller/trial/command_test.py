"""`shankwright trial` as people and other programs meet it: what it prints, draws, saves, and how it exits."""

import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

RECIPE = "straight-shank-3-32-7x7"


def run(*arguments):
    return subprocess.run([PROGRAM, "trial", *map(str, arguments)], capture_output=True, text=True, timeout=500, check=False)


def expect(condition, what, result):
    if not condition:
        raise SystemExit(f"{what}\nexit {result.returncode}\n{result.stdout}\n{result.stderr}")


def main(shipped):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        library = folder / "library"
        shutil.copytree(shipped, library)
        before = {file: file.read_bytes() for file in library.rglob("*.yaml")}

        first = run(RECIPE, "--library", library, "--fittings", 1000, "--seed", 5, "--threads", 1, "--json",
                    "--plots", folder / "plots", "--save", library)
        expect(first.returncode == 0, "a window is found", first)
        data = json.loads(first.stdout)
        expect(not data["window"]["empty"] and data["seed"] == 5, "the answer is JSON", first)
        expect("\r" not in first.stderr, "no progress where nobody looks", first)
        newest = max(int(file.name.split(".r")[1].removesuffix(".yaml")) for file in before if file.name.startswith(RECIPE + ".r"))
        draft = library / "recipes" / f"{RECIPE}.r{newest + 1}.yaml"
        expect(draft.is_file() and "status: draft" in draft.read_text(), "the draft is the next revision", first)
        checked = subprocess.run([PROGRAM, "recipe", "check", str(draft)], capture_output=True, text=True, check=False)
        expect(checked.returncode == 0, "the draft passes recipe check", checked)
        expect(all(file.read_bytes() == text for file, text in before.items()), "nothing is written over", first)
        for picture in ("across_flats", "rejects", "force_by_gap", "sensitivity"):
            words = "".join(xml.etree.ElementTree.parse(folder / "plots" / f"{picture}.svg").getroot().itertext())
            expect(RECIPE in words and "no real part" in words, f"{picture}.svg says what it shows", first)
            png = (folder / "plots" / f"{picture}.png").read_bytes()
            expect(png.startswith(b"\x89PNG\r\n\x1a\n") and len(png) > 20000, f"{picture}.png is a picture", first)

        second = run(RECIPE, "--library", library, "--fittings", 1000, "--seed", 5, "--threads", 2, "--json",
                     "--save", draft)
        expect(second.stdout == first.stdout, "two threads give the same answer to the last digit", second)
        expect(second.returncode == 3 and "written over" in second.stderr, "an existing file is refused", second)

        usage = run(RECIPE, "--library", library, "--from", "100", "--to", "200 kN")
        expect(usage.returncode == 2 and "with its unit" in usage.stderr, "a bare force is refused", usage)
        expect(run("no-such-recipe", "--library", library).returncode == 2, "an unknown recipe is wrong usage", usage)
        expect(run(RECIPE, "--library", folder / "nowhere").returncode == 3, "no library is a fault", usage)
        scatter = run(RECIPE, "--library", library, "--scatter", "gripp=0..0.1")
        expect(scatter.returncode == 2 and "shank_diameter" in scatter.stderr, "a misspelt input lists them", scatter)

        die = library / "dies" / "hex-3-32.yaml"
        rated = [line for line in die.read_text().splitlines() if line.startswith("rated_force")][0]
        die.write_text(die.read_text().replace(rated, "rated_force: 120 kN"))
        fresh = run("--new", "weak-dies", "--rope", "rope-3-32-7x7", "--terminal", "straight-shank-3-32", "--die", "hex-3-32",
                    "--press", "press-1", "--go", "go-3-32", "--no-go", "no-go-3-32", "--library", library,
                    "--fittings", 1000, "--save", library)
        expect(fresh.returncode == 1, "an empty window exits 1", fresh)
        expect("No force will do" in fresh.stdout and "die rating" in fresh.stdout, "and says why", fresh)
        expect(not list((library / "recipes").glob("weak-dies*")), "and saves nothing", fresh)


if __name__ == "__main__":
    PROGRAM = sys.argv[1]
    main(pathlib.Path(sys.argv[2]))
