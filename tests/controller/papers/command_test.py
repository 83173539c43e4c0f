"""`certificate`, `label`, `trace --pdf` and what `verify` says of the code on the paper, as people meet them."""

import pathlib
import subprocess
import sys
import tempfile

PROGRAM, WRITE_SHOP = sys.argv[1:3]


def run(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, timeout=120, check=False)


def expect(condition, what, result):
    if not condition:
        raise SystemExit(f"{what}\nexit {result.returncode}\n{result.stdout}\n{result.stderr}")


def text_of(file):
    return " ".join(subprocess.run(["pdftotext", "-raw", file, "-"], capture_output=True, text=True, check=True).stdout.split())


def symbol_in(picture):
    return subprocess.run(["dmtxread", "-N", "1", "-m", "8000", picture], capture_output=True, text=True, check=False).stdout


def certificate(folder, data, released, held, unsealed):
    out = folder / "certificate.pdf"
    made = run("certificate", released, "--data", data, "--out", out)
    expect(made.returncode == 0 and made.stdout.strip() == str(out), "written, and named on stdout", made)
    expect(released in text_of(out), "the serial is on it", made)
    before = out.read_bytes()
    again = run("certificate", released.replace("-", "").lower(), "--data", data, "--out", out)
    expect(again.returncode == 1 and out.read_bytes() == before, "a file that is there is left alone", again)
    forced = run("certificate", "--job", "job-41", "--data", data, "--out", out, "--force", "--units", "inch")
    expect(forced.returncode == 0 and "lbf" in text_of(out), "written over with --force, in inches", forced)
    for arguments, word in (([held], "held"), ([unsealed], "not sealed"), (["--job", "job-42"], "none of them released"),
                            (["--job", "no such"], "no such")):
        refused = run("certificate", *arguments, "--data", data, "--out", folder / "no.pdf")
        expect(refused.returncode == 1 and word in refused.stderr, f"refused: {word}", refused)
    unknown = run("certificate", released[:-1] + ("0" if released[-1] != "0" else "1"), "--data", data)
    expect(unknown.returncode == 1 and "Near to it" in unknown.stderr and released in unknown.stderr,
           "a mistyped serial is told the nearest", unknown)
    expect(not (folder / "no.pdf").exists(), "nothing is written when refused", unknown)
    expect(run("certificate", "--data", data).returncode == 2, "neither serial nor job", unknown)
    expect(run("certificate", released, "--job", "job-41", "--data", data).returncode == 2, "both", unknown)
    lost = run("certificate", released, "--data", data, "--out", folder / "no" / "such" / "place.pdf")
    expect(lost.returncode == 3, "no place for the file", lost)
    expect(run("certificate", released, "--data", folder / "nothing").returncode == 3, "no record", lost)


def verified(folder, data, released):
    out = folder / "to-verify.pdf"
    run("certificate", released, "--data", data, "--out", out)
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-png", out, folder / "page"], check=True)
    codes = [symbol_in(page) for page in sorted(folder.glob("page*.png"))]
    codes = [code for code in codes if code]
    text = text_of(out)
    short = text.split("Integrity code ")[1].split()[0]
    for code in (*codes, short):
        sound = run("verify", data, "--code", code)
        expect(sound.returncode == 0, f"verify finds {code} in the record", sound)
    wrong = codes[0][:-1] + ("0" if codes[0][-1] != "0" else "1")
    other = run("verify", data, "--code", wrong)
    expect(other.returncode == 1, "and does not find another", other)


def label(folder, data, released, held):
    for form in ("svg", "png", "pdf"):
        out = folder / f"label.{form}"
        made = run("label", released, "--data", data, "--out", out, "--size", "40mmx20mm")
        expect(made.returncode == 0 and out.stat().st_size > 500, f"a label as {form}", made)
    expect(symbol_in(folder / "label.png") == released.replace("-", ""), "it decodes to the bare serial", made)
    on_hold = run("label", held, "--data", data, "--out", folder / "held.svg")
    expect("ON HOLD" in (folder / "held.svg").read_text(), "a held one says so", on_hold)
    for wrong in (["--out", folder / "label.gif"], ["--out", folder / "l.svg", "--size", "40x20"],
                  ["--out", folder / "l.svg", "--size", "9mmx8mm"], []):
        result = run("label", released, "--data", data, *wrong)
        expect(result.returncode == 2, f"wrong usage: {wrong}", result)
    unknown = run("label", "SW-000099-XX", "--data", data, "--out", folder / "l.svg")
    expect(unknown.returncode == 1, "only for serials on record", unknown)


def dossier(folder, data, held):
    out = folder / "dossier.pdf"
    made = run("trace", held, "--data", data, "--pdf", out)
    expect(made.returncode == 0 and "NOT SEALED" in text_of(out), "the dossier of a held fitting", made)
    expect(run("trace", held, "--data", data, "--pdf", out).returncode == 1, "not written over", made)
    expect(run("trace", held, "--data", data, "--pdf", out, "--json").returncode == 2, "pages or JSON", made)
    unknown = run("trace", "SW-000099-XX", "--data", data, "--pdf", folder / "d.pdf")
    expect(unknown.returncode == 1 and "check characters" in unknown.stderr, "unknown serial", unknown)


with tempfile.TemporaryDirectory() as name:
    place = pathlib.Path(name)
    shop = place / "data"
    serials = subprocess.run([WRITE_SHOP, shop], capture_output=True, text=True, check=True).stdout.split()
    certificate(place, shop, *serials)
    verified(place, shop, serials[0])
    label(place, shop, *serials[:2])
    dossier(place, shop, serials[1])
    for command in ("certificate", "label", "trace"):
        usage = run(command, "--help")
        expect(usage.returncode == 0 and "Examples:" in usage.stdout, f"{command} --help", usage)
