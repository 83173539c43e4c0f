#!/usr/bin/python3
"""Faults on the way to the press: no permit on stale evidence, no bite passed with a hole, recovery without help.

    link_fault_test.py [--rounds 24] [--seed S]

Method: the station works on the independent press node, which plays each fault for a while. First with no bite running:
a permit asked for while the press cannot be trusted is refused and never reaches it. Then at a seeded instant of a bite:
the bite is either whole in the record or the fitting is on hold with the reason. After each fault the station sees the
press again by itself.
"""
import argparse
import json
import random
import sys
import tempfile
import time

import floor

BLINDING = ["silent", "half", "exception", "frozen_beat", "frozen", "refuse", "wrong_map", "delay"]
# Garbling is not among the first: Modbus TCP carries no check sum of its own, so a flipped bit in a well-formed answer can
# only be found where it contradicts something. In a bite it must (samples are read twice).
IN_A_BITE = ["silent", "garble", "half", "exception", "frozen_beat", "frozen", "refuse", "drop", "delay", "holes"]
REASONS = {"link_lost_in_bite", "trace_has_hole", "trace_missing", "press_fault_in_bite", "trace_contradicts_press",
           "bite_without_permit"}


def fault_of(name, dice, for_ms):
    fault = {"fault": name, "for_ms": for_ms}
    if name == "delay":
        fault["ms"] = 150
    if name == "exception":
        fault["code"] = dice.choice([1, 2, 3, 4, 5, 6, 8, 10, 11])
    return fault


def to_permit(operator, serial):
    fitting = operator.station.fitting(serial)
    end = time.monotonic() + 30
    while fitting["next"]["code"] != "ask_permit":
        if time.monotonic() > end or fitting["stage"] in ("hold", "released", "scrapped"):
            raise AssertionError(f"no way to a permit: {fitting['stage']} {json.dumps(fitting['standing'])} {json.dumps(fitting['next'])}")
        fitting = operator.step(serial)
    return fitting


def permits(node):
    return sum(1 for act in node.ask({"get": True})["acted"] if act["order"] == 1)


def blind(station, operator, node, serial, name, dice):
    """A permit asked for while the press cannot be trusted."""
    to_permit(operator, serial)
    before = permits(node)
    node.ask(fault_of(name, dice, 60_000))
    time.sleep(0.4)
    status, answer = station.call("POST", f"/fittings/{serial}/permit")
    codes = [refusal["code"] for refusal in answer.get("refusals", [])] if answer else []
    assert status == 409 and "press_evidence_stale" in codes, f"{name}: permit answered {status} {answer}"
    press = station.state()["press"]
    assert not press["fresh"] and press["link_problem"], f"{name}: the screen calls it fresh: {press}"
    node.ask({"clear_faults": True})
    operator.wait_for_press(8)
    assert permits(node) == before, f"{name}: a permit reached the press on stale evidence"


def bite(station, operator, node, serial, name, dice):
    """A fault at a seeded instant of a bite. Returns how it ended."""
    fitting = to_permit(operator, serial)
    node.resist(fitting)
    end = time.monotonic() + 10
    while station.state()["press"]["phase"] != "open" and time.monotonic() < end:
        time.sleep(0.03)  # the bite before may still be opening
    done = fitting["bites_done"]
    status, answer = operator.post(serial, "/permit")
    assert status == 200, f"{name}: no permit: {answer}"
    time.sleep(dice.uniform(0.0, 1.2))
    node.ask(fault_of(name, dice, dice.choice([60, 150, 400, 1200])))
    end = time.monotonic() + 25
    while time.monotonic() < end:
        fitting = station.fitting(serial)
        if fitting["stage"] not in ("permit_recorded", "permit_given", "biting"):
            break
        time.sleep(0.03)
    else:
        raise AssertionError(f"{name}: the bite never ended: {json.dumps(fitting)} {json.dumps(station.state()['press'])}")
    node.ask({"clear_faults": True})
    operator.wait_for_press(8)
    if fitting["stage"] == "hold":
        reasons = {finding["code"] for finding in fitting["standing"]}
        assert reasons & REASONS, f"{name}: held for {json.dumps(fitting['standing'])}, envelope {json.dumps(fitting['envelope'])}"
        return "held: " + ", ".join(sorted(reasons))
    if fitting["bites_done"] == done:
        codes = {finding["code"] for finding in fitting["findings"]}
        assert codes & {"permit_withdrawn", "permit_expired", "evidence_aged_while_recording", "press_evidence_stale",
                        "permit_refused_by_press"}, f"{name}: no bite and no reason: {codes}"
        return "no bite: " + ", ".join(sorted(codes))
    rows = station.call("GET", f"/fittings/{serial}/dossier")[1]["bites"][-1]["rows"]
    steps = {round(after[0] - before[0]) for before, after in zip(rows, rows[1:])}
    assert steps <= {2}, f"{name}: a bite with a hole was passed: steps of {sorted(steps)} ms"
    return "whole"


def ready_again(station, operator, serial):
    """A fitting to go on with: this one, or a new one when it is finished or held."""
    if station.state()["press"]["fault_code"]:
        station.call("POST", "/press/clear-fault")
        time.sleep(0.15)
    stage = station.fitting(serial)["stage"] if serial else "released"
    if stage == "hold":
        station.sign_in("cleo")
        operator.post(serial, "/disposition", {"disposition": "scrap", "reason": "fault test", "pin": station.PIN})
        station.sign_in()
        stage = "scrapped"
    if stage in ("gauge", "accepted"):
        operator.run(serial)
        stage = "released"
    return operator.begin()["serial"] if stage in ("released", "scrapped") else serial


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=24)
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1 << 32))
    arguments = parser.parse_args()
    print(f"seed {arguments.seed}", flush=True)
    dice = random.Random(arguments.seed)
    node = floor.Node(seed=arguments.seed & 0xFFFF)
    ends = {}
    with tempfile.TemporaryDirectory() as folder:
        station = floor.Station(folder, f"tcp:127.0.0.1:{node.port}").start()
        try:
            station.sign_in()
            operator = floor.Operator(station, node)
            operator.wait_for_press()
            serial = operator.begin()["serial"]
            for name in BLINDING:
                serial = ready_again(station, operator, serial)
                blind(station, operator, node, serial, name, dice)
            print(f"{len(BLINDING)} kinds of blindness: no permit reached the press, recovered by itself", flush=True)
            for turn in range(arguments.rounds):
                serial = ready_again(station, operator, serial)
                name = IN_A_BITE[turn % len(IN_A_BITE)]
                end = bite(station, operator, node, serial, name, dice)
                ends.setdefault(end, []).append(name)
                print(f"{name}: {end}", flush=True)
        except AssertionError as error:
            print(f"FAILED with seed {arguments.seed}: {error}")
            return 1
        finally:
            station.kill()
            node.stop()
    for end, names in sorted(ends.items()):
        print(f"{len(names):3} {end}  ({', '.join(sorted(set(names)))})")
    if not any(end.startswith("held") for end in ends):
        print("FAILED: no fault fell into a bite; nothing was proven")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
