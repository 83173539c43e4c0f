#!/usr/bin/python3
"""Start-up time and resident memory of the station: medians over several starts, on an empty record and after a fitting.

    SHANKWRIGHT=build/shankwright station_figures.py
"""
import pathlib
import statistics
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "faults"))
import floor  # pylint: disable=wrong-import-position


def main():
    node = floor.Node()
    try:
        with tempfile.TemporaryDirectory() as folder:
            station = floor.Station(folder, f"tcp:127.0.0.1:{node.port}")
            starts = []
            for _ in range(9):
                began = time.monotonic()
                station.start()
                starts.append((time.monotonic() - began) * 1000)
                station.kill()
            print(f"start to ready: median {statistics.median(starts):.0f} ms, slowest {max(starts):.0f} ms of {len(starts)}")
            station.start()
            station.sign_in()
            operator = floor.Operator(station, node)
            operator.wait_for_press()
            print(f"resident when idle: {station.memory_kb() / 1024:.1f} MB")
            operator.run(operator.begin()["serial"])
            print(f"resident after a fitting: {station.memory_kb() / 1024:.1f} MB")
            station.kill()
    finally:
        node.stop()


if __name__ == "__main__":
    main()
