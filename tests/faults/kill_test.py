#!/usr/bin/python3
"""SIGKILL at seeded instants of fittings' lives: what the station reported as done is in the record, always.

    kill_test.py [--kills 120] [--seed S]

Method: an operator works fitting after fitting; after a seeded time the station is killed; it starts again on the same
record. Then: every act that was answered with success is in the dossier; a fitting whose permit or bite was open is on
hold with its bite marked interrupted, and the start says so; any other open fitting is put aside or as it was.
"""
import argparse
import random
import sys
import tempfile
import threading
import time

import floor

EVENT_OF = {"/": "admit", "/permit": "permit", "/judge": "judge", "/release": "release", "/resume": "resume", "/disposition": "dispose"}


def event_of(path, body):
    return body["kind"] if path == "/evidence" else EVENT_OF[path]


def check(station, operator, before_kill, counts):
    """Everything told is kept; the open fitting stands as it must."""
    wanted = {}
    for serial, path, body in operator.told:
        wanted.setdefault(serial, []).append(event_of(path, body))
    for serial, events in wanted.items():
        dossier = station.call("GET", f"/fittings/{serial}/dossier")[1]
        kept = [entry["event"] for entry in dossier["entries"] if entry["kind"] != "refused"]
        for event in set(events):
            have, need = kept.count(event), events.count(event)
            if have < need:
                raise AssertionError(f"{serial}: {need} times told '{event}' was done, {have} in the record: {kept}")
    if before_kill is None:
        return
    serial, stage = before_kill["serial"], before_kill["stage"]
    now = station.fitting(serial)
    pressing = ("permit_recorded", "permit_given", "biting")
    if stage in pressing and now["stage"] not in ("hold", "aside", "gauge"):
        raise AssertionError(f"{serial} was {stage} and came back as {now['stage']}")
    last = [entry["event"] for entry in station.call("GET", f"/fittings/{serial}/dossier")[1]["entries"]]
    if last[-1] == "restarted" and now["stage"] == "hold":
        codes = [finding["code"] for finding in now["standing"]]
        if "bite_interrupted_by_restart" not in codes:
            raise AssertionError(f"{serial} held without its bite marked interrupted: {codes}")
        if not any(serial in notice and "interrupted" in notice for notice in station.state()["notices"]):
            raise AssertionError(f"the start does not say that {serial} was interrupted: {station.state()['notices']}")
        counts["interrupted"] += 1
    elif now["stage"] in ("position", "permit_recorded", "permit_given", "biting", "turn"):
        raise AssertionError(f"{serial} came back in {now['stage']}: its position is not proven any more")
    else:
        counts["as it was or aside"] += 1


def work(operator, serial, seen):
    """Acts until the station is gone."""
    try:
        while True:
            fitting = operator.step(serial)
            seen["fitting"] = fitting
            if fitting["stage"] in ("released", "scrapped"):
                serial = operator.begin()["serial"]
    except ConnectionError:
        pass
    except Exception as error:  # pylint: disable=broad-except
        seen["error"] = error


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=120)
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1 << 32))
    arguments = parser.parse_args()
    print(f"seed {arguments.seed}", flush=True)
    dice = random.Random(arguments.seed)
    counts = {"interrupted": 0, "as it was or aside": 0}
    node = floor.Node(seed=arguments.seed & 0xFFFF)
    with tempfile.TemporaryDirectory() as folder:
        station = floor.Station(folder, f"tcp:127.0.0.1:{node.port}")
        operator = floor.Operator(station, node)
        before = None
        try:
            for kill in range(arguments.kills):
                station.start()
                station.sign_in()
                check(station, operator, before, counts)
                operator.wait_for_press()
                serial = settle(station, operator, before)
                seen = {"fitting": station.fitting(serial)}
                worker = threading.Thread(target=work, args=(operator, serial, seen))
                worker.start()
                time.sleep(dice.choice((dice.uniform(0, 0.2), dice.uniform(0, 1.5))))
                station.kill()
                worker.join(timeout=30)
                if "error" in seen:
                    raise seen["error"]
                before = seen["fitting"]
                if kill % 50 == 49:
                    print(f"{kill + 1} kills, {counts}", flush=True)
            station.start()
            station.sign_in()
            check(station, operator, before, counts)
            serials = [row["serial"] for row in station.call("GET", "/fittings?limit=1000")[1]["fittings"]]
            if len(serials) != len(set(serials)):
                raise AssertionError("a serial was given twice")
        except AssertionError as error:
            print(f"FAILED with seed {arguments.seed}: {error}")
            return 1
        finally:
            station.kill()
            node.stop()
    print(f"{arguments.kills} kills, {len(operator.told)} acts reported done and all kept, {len(serials)} fittings: {counts}")
    if counts["interrupted"] < arguments.kills // 20:
        print("FAILED: too few kills fell into a bite to prove anything")
        return 1
    return 0


def settle(station, operator, before):
    """Disposes of a held fitting as a reviewer would, and returns the serial to go on with."""
    if station.state()["press"]["fault_code"] != 0:
        station.call("POST", "/press/clear-fault")
        time.sleep(0.1)
    if before is not None:
        now = station.fitting(before["serial"])
        if now["stage"] == "hold":
            station.sign_in("cleo")
            operator.post(now["serial"], "/disposition", {"disposition": "scrap", "reason": "interrupted in a kill test", "pin": station.PIN})
            station.sign_in()
        elif now["stage"] not in ("released", "scrapped"):
            return now["serial"]
    for row in station.call("GET", "/fittings?verdict=open&limit=100")[1]["fittings"]:
        return row["serial"]
    return operator.begin()["serial"]


if __name__ == "__main__":
    sys.exit(main())
