#!/usr/bin/env python3
"""Takes whole fittings out of a record as stories that the generator tells again with other names and days.

    simulators/history/take_stories.py RECORD.sqlite3 SERIAL=NAME... > simulators/history/stories.jsonl

RECORD is a demo record of schema version 1, in which every entry carries its whole state. One JSON object a line:
a document (joined recipe), a story (what it was made to and with), and its entries. States are kept as what changed
(RFC 7396), traces as in the record, in base 64. What the generator puts in anew stands between @ signs.
"""
import base64
import json
import sqlite3
import sys


def changed(before, after):
    out = {key: None for key in before if key not in after}
    for key, value in after.items():
        if key not in before or before[key] != value:
            out[key] = changed(before[key], value) if isinstance(value, dict) and isinstance(before.get(key), dict) else value
    return out


def line(**what):
    print(json.dumps(what, separators=(",", ":"), ensure_ascii=False))


def main():
    record = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
    told = set()
    for argument in sys.argv[2:]:
        serial, name = argument.split("=")
        recipe, revision, die_pair, verdict, document, content = record.execute(
            "SELECT recipe_id, recipe_revision, die_pair_id, verdict, hex(document_hash), content FROM fitting_index"
            " JOIN documents ON hash = document_hash WHERE serial = ?", (serial,)).fetchone()
        if recipe not in told:
            told.add(recipe)
            line(document=recipe, content=json.loads(content))
        line(story=name, recipe=recipe, die_pair=die_pair, ends=verdict)
        before, start = {}, None
        for at, kind, event, actor, body, state, stage, trace in record.execute(
                "SELECT at_utc_us, kind, event, actor, body_json, state_json, stage, bytes FROM entries"
                " LEFT JOIN traces USING (sequence) WHERE serial = ? ORDER BY sequence", (serial,)):
            start = at if start is None else start
            state = json.loads(state)
            entry = {"after_ms": (at - start) // 1000, "kind": kind, "event": event, "stage": stage,
                     "by": "station" if actor == "station" else "@operator@", "body": json.loads(body),
                     "changed": changed(before, state)}
            if trace:
                entry["trace"] = base64.b64encode(trace).decode()
            before = state
            line(**entry)


if __name__ == "__main__":
    main()
