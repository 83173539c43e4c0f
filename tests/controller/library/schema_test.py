"""Shipped files against the JSON Schemas, and broken ones too: a schema that accepts anything would pass the first half."""

import copy
import datetime
import json
import pathlib
import sys

import jsonschema
import yaml

KINDS = {
    "ropes": "rope", "terminals": "terminal", "dies": "die_pair", "gauges": "gauge", "presses": "press", "recipes": "recipe",
}
JOBS = "../simulators/demo_data/jobs"
SHOP = """
name: Demo shop (demo data)
people:
  - {id: ada, name: Ada Example, roles: [operator], qualified: {straight-shank-hexagon: 2027-06-30}}
rope_lots: [{id: RL-1, rope: rope-3-16-7x19, quarantined: false, certificate: demo data}]
terminal_lots: []
gauges: [{id: caliper-1, calibration_due: 2027-02-28}]
die_pairs: [{id: hex-3-16, serial: D-1, inspection_due: 2027-06-30, strokes: 0}]
presses: []
"""


def plain(value):
    """YAML dates as the text that stands in the file: JSON has no dates."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def broken(document, required):
    """Copies with a key left out, a key too many, and a bare number in place of a quantity."""
    for key in required:
        short = copy.deepcopy(document)
        del short[key]
        yield f"without {key}", short
    yield "with a key too many", {**document, "colour": "red"}
    for key, value in document.items():
        if isinstance(value, str) and value[0].isdigit() and value[-1].isalpha():
            yield f"{key} without unit", {**document, key: 7.95}


def main(folder):
    checked = refused = 0
    for subfolder, kind in {**KINDS, "": "shop", JOBS: "job"}.items():
        schema = json.loads((folder / "schema" / f"{kind}.schema.json").read_text())
        jsonschema.Draft202012Validator.check_schema(schema)
        validator = jsonschema.Draft202012Validator(schema)
        texts = [path.read_text() for path in sorted((folder / subfolder).glob("*.yaml"))] if subfolder else [SHOP]
        assert texts, f"no files in {subfolder}"
        for text in texts:
            document = plain(yaml.safe_load(text))
            for error in validator.iter_errors(document):
                raise SystemExit(f"{subfolder} {document.get('id')}: {error.json_path}: {error.message}")
            checked += 1
            for how, wrong in broken(document, schema["required"]):
                if validator.is_valid(wrong):
                    raise SystemExit(f"{kind} schema accepts {document.get('id')} {how}")
                refused += 1
    print(f"{checked} files valid, {refused} broken copies refused")


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
