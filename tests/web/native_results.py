# SPDX-License-Identifier: BSD-3-Clause
"""Runs scenario files with the native library and prints every number of the results as JSON.

    native_results.py [--repeat N] scenario.json ...

For each file: the status, every series, and the shortest time of N runs in seconds.
"""

import argparse
import json
import sys
import time

import capsim
import numpy as np


def result(path: str, repeat: int) -> dict:
    scenario = capsim.Scenario.from_json(path)
    seconds = []
    for _ in range(repeat):
        start = time.perf_counter()
        history = capsim.simulate(scenario)
        seconds.append(time.perf_counter() - start)
    series = {name: np.asarray(history.array(name), dtype=float).ravel().tolist() for name in history.names}
    return {"status": history.status, "seconds": min(seconds), "series": series}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeat", type=int, default=1)
    parser.add_argument("files", nargs="+")
    given = parser.parse_args()
    json.dump({path: result(path, given.repeat) for path in given.files}, sys.stdout)


if __name__ == "__main__":
    main()
