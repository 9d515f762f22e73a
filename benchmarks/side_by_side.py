#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""The library beside what else could do its work, in one run: kernels alone, a NumPy program, CalculiX.

    python benchmarks/side_by_side.py BUILD_FOLDER [--rounds 9] [--peer-rounds 2]

Prints three tables and checks nothing. Processor times of one thread, the least of the rounds; ratios are what counts.

1. Seven eyes on two meshes: a year against its kernels (kernel_limit.cpp).
2. A year of the eyes that the peer has (no lens, no ring, no cuts): the library, a NumPy/SciPy program with
   chord Newton and with full Newton (peers/numpy_year.py), and how far the answers are apart on any row.
3. One equilibrium of a leaf: the library and CalculiX on the cases of tests/oracle. Whole processes, reading and
   writing included; elements and meshes are each program's own.
"""

import argparse
import importlib.util
import json
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "oracle"))

import calculix  # noqa: E402
import compare  # noqa: E402

PEER = ROOT / "benchmarks" / "peers" / "numpy_year.py"
PEER_NEEDS = ("numpy", "scipy")
PEER_EYES = ("default", "weak", "sector", "lock_in")
MESHES = ("coarse", "standard")
LEAVES = ("large_pull", "off_centre_opening", "half_the_zonule_missing", "large_contracting_band", "everything")


def said(*command, **options):
    return subprocess.run([str(part) for part in command], check=True, capture_output=True, text=True, **options).stdout


def missing_modules(needed=PEER_NEEDS):
    """Names of the modules that the peer needs and this Python, which it is started with, does not have."""
    return [name for name in needed if importlib.util.find_spec(name) is None]


def child_ms(work):
    """Processor time [ms] of the processes that `work` waits for, and what it returns."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    answer = work()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1e3 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime), answer


def years_and_kernels(build, rounds):
    print(said(build / "benchmarks" / "benchmark_kernel_limit", "--rounds", rounds))


def years_and_peer(build, rounds, peer_rounds):
    print(
        f"{'eye without lens':17} {'mesh':9} {'year ms':>9} {'chord':>9} {'times':>6} {'full':>9} {'times':>6} {'apart':>9}"
    )
    for mesh in MESHES:
        for eye in PEER_EYES:
            with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
                text = said(build / "benchmarks" / "benchmark_export_eye", eye, mesh, rounds)
                file.write(text)
                file.flush()
                ours = json.loads(text)["year_ms"]
                chord = [json.loads(said(sys.executable, PEER, file.name)) for _ in range(peer_rounds)]
                full = [json.loads(said(sys.executable, PEER, file.name, "--full-newton")) for _ in range(peer_rounds)]
            chord_ms, full_ms = (min(run["year_ms"] for run in runs) for runs in (chord, full))
            apart = max(run["largest_area_difference"] for run in chord + full)
            print(
                f"{eye:17} {mesh:9} {ours:9.1f} {chord_ms:9.0f} {chord_ms / ours:6.1f} {full_ms:9.0f}"
                f" {full_ms / ours:6.1f} {apart:9.1e}",
                flush=True,
            )


def one_equilibrium(build, rounds):
    tool = build / "tests" / "capsim_bench_leaf"
    if calculix.executable() is None:
        print("CalculiX is not installed: the third table is left out")
        return
    cases = {case["id"]: case for case in compare.cases()}
    print(
        f"\n{'leaf':26} {'library ms':>10} {'CalculiX ms':>11} {'times':>6} {'area apart':>10}   CalculiX {calculix.version()}"
    )
    for name in LEAVES:
        with tempfile.TemporaryDirectory() as folder:
            ours = [child_ms(lambda name=name: compare.library(tool, (name,))) for _ in range(rounds)]
            theirs = [child_ms(lambda name=name, folder=folder: compare.solve(cases[name], folder)) for _ in range(2)]
        mine, other = min(ms for ms, _ in ours), min(ms for ms, _ in theirs)
        area, their_area = ours[0][1][name]["area_mm2"], theirs[0][1]["area_mm2"]
        print(
            f"{name:26} {mine:10.0f} {other:11.0f} {other / mine:6.1f} {abs(area / their_area - 1):10.1e}", flush=True
        )


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("build", type=Path, help="where benchmarks and tests were built")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--peer-rounds", type=int, default=2)
    options = parser.parse_args()
    if missing := missing_modules():
        parser.error(
            f"{PEER.name} needs {' and '.join(missing)}, which {sys.executable} does not have:"
            " install what is missing, or start this program with another Python"
        )
    build = options.build.resolve()
    years_and_kernels(build, options.rounds)
    years_and_peer(build, options.rounds, options.peer_rounds)
    one_equilibrium(build, options.rounds)


if __name__ == "__main__":
    main()
