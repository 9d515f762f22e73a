#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Processor time of one effective sample of a posterior: the ensemble sampler against the one along the gradient.

    python benchmarks/posterior_samplers.py [--size 400] [--runs 3000]

One invented eye with six visits, three parameters, the coarse mesh of the tests. Chains along the gradient go on until
every parameter has an effective size of `--size`; those of the ensemble may take `--runs` runs, and what `--size` would
have taken follows from the size that they reached, which grows with the runs. Needs SciPy, emcee and mici. Prints a table
and checks nothing.
"""

import argparse
import time
from collections.abc import Sequence

import capsim
import numpy as np
from capsim.calibration.chains import effective_size
from capsim.days import rows_on

DAYS = np.array([1.0, 14.0, 30.0, 60.0, 90.0, 180.0])
TRUTH = {"contraction.fibre_modulus_kPa": 500.0, "contraction.tissue_per_day": 0.05}


def fitted_eye() -> capsim.EyeFit:
    """The fit of an invented eye whose visits have 3 % of noise."""
    base = capsim.Scenario(
        name="invented eye",
        mesh={"around": 12, "radial": 2},
        zonule={"strength": 0.3, "pull_mN": 60},
        opening={"diameter_mm": 4.8},
        contraction={"fibre_modulus_kPa": 300, "band_width_mm": 0.6, "signal_days": 45, "deactivation_per_day": 1 / 60},
    )
    history = capsim.simulate(base.with_({**TRUTH, "duration_days": DAYS[-1], "output_every_days": 1}))
    noise = np.exp(0.03 * np.random.default_rng(4).standard_normal(len(DAYS)))
    areas = rows_on(history.day, history.opening_area_mm2, DAYS) * noise
    return capsim.fit(capsim.Visits(DAYS, areas), base, workers=1).only


def main(arguments: Sequence[str] | None = None) -> dict[str, float]:
    """Runs both samplers, prints the table, and returns the seconds that each needs."""
    parser = argparse.ArgumentParser(description="Processor time of effective samples of a posterior.")
    parser.add_argument("--size", type=int, default=400, help="effective size of every parameter (default: 400)")
    parser.add_argument("--runs", type=int, default=3000, help="of the ensemble sampler at most (default: 3000)")
    options = parser.parse_args(arguments)
    eye = fitted_eye()
    print(f"{'sampler':>12}  {'runs':>6}  {'size':>6}  {'processor s':>11}  {'s for size':>10}")
    seconds = {}
    for method, most in (("hamiltonian", 10**6), ("emcee", options.runs)):
        began = time.process_time()
        samples = eye.sample(options.size, seed=1, method=method, most_runs=most)
        spent = time.process_time() - began
        assert samples.chains is not None
        reached = float(effective_size(samples.chains).min())
        seconds[method] = spent * max(1.0, options.size / reached) if method == "emcee" else spent
        print(f"{method:>12}  {samples.runs:6d}  {reached:6.0f}  {spent:11.1f}  {seconds[method]:10.1f}")
    print(f"along the gradient {seconds['hamiltonian'] / seconds['emcee']:.2f} of the processor time of the ensemble")
    return seconds


if __name__ == "__main__":
    main()
