# SPDX-License-Identifier: BSD-3-Clause
"""What a fit costs beside one whose derivatives are differences of runs.

    python3 benchmarks/fit_cost.py [fine]

Six invented eyes, three parameters, six visits with 3 % of noise; 12 x 2 elements, fine: 24 x 4. Processor time of the library's search
over that of least squares that differences whole runs (steps of 0.02 prior standard deviations, as the library did before it had
derivatives), the smaller of two of each, in turn; how many runs either takes; and how far apart their estimates are, in posterior
standard deviations.
"""

import sys
import time
from collections import Counter

import capsim
import numpy as np
from capsim.calibration.response import Response
from capsim.calibration.search import most_probable
from scipy import optimize

MODULUS, RATE, SIZE = "contraction.fibre_modulus_kPa", "contraction.tissue_per_day", "opening.size"
DAYS = np.array([1.0, 14.0, 30.0, 60.0, 90.0, 180.0])
STEP = 0.02
REACH = 5.0


def base_eye(fine):
    return capsim.Scenario(
        mesh={"around": 24, "radial": 4} if fine else {"around": 12, "radial": 2},
        zonule={"strength": 0.3, "pull_mN": 60},
        opening={"diameter_mm": 4.8},
        contraction={"fibre_modulus_kPa": 300, "band_width_mm": 0.6, "signal_days": 45, "deactivation_per_day": 1 / 60},
    )


def by_differences(response, visits, sigma, start):
    """The most probable scaled parameters; every look at the slopes is one more run for each of them."""
    seen = {}

    def areas(z):
        return response.areas_and_smallest(z.tolist(), visits.day)[0]

    def look(z):
        if z.tobytes() not in seen:
            of_all = np.array([areas(z), *(areas(z + STEP * e) for e in np.eye(len(z)))])
            residuals = (np.log(of_all) - np.log(visits.area_mm2)) / sigma
            seen.clear()
            seen[z.tobytes()] = residuals[0], (residuals[1:] - residuals[0]).T / STEP
        return seen[z.tobytes()]

    return optimize.least_squares(
        lambda z: np.concatenate([look(z)[0], z]),
        start,
        jac=lambda z: np.vstack([look(z)[1], np.eye(len(z))]),
        bounds=(-REACH, REACH),
        xtol=1e-3,
        ftol=1e-4,
        gtol=1e-3,
        max_nfev=40,
    ).x


def counted(runs):
    """Counts the runs of responses from now on."""
    for name in ("areas", "areas_and_slopes", "areas_and_smallest"):
        real = getattr(Response, name)

        def count(self, *arguments, _real=real, _name=name):
            runs[_name] += 1
            return _real(self, *arguments)

        setattr(Response, name, count)


def main():
    base = base_eye("fine" in sys.argv[1:])
    random = np.random.default_rng(11)
    runs = Counter()
    counted(runs)
    spent = {"derivatives": 0.0, "differences": 0.0}
    for eye in range(6):
        truth = {
            MODULUS: 400 * np.exp(0.3 * random.standard_normal()),
            RATE: 0.05 * np.exp(0.3 * random.standard_normal()),
            "opening.diameter_mm": 4.8 * np.exp(0.03 * random.standard_normal()),
        }
        history = capsim.simulate(base.with_({**truth, "duration_days": DAYS[-1], "output_every_days": 1}))
        areas = np.interp(DAYS, history.day, history.opening_area_mm2) * np.exp(
            0.03 * random.standard_normal(len(DAYS))
        )
        visits = capsim.Visits(DAYS, areas)
        known = capsim.fit(visits, base).only
        start = np.zeros(len(known.z))
        searches = {
            "derivatives": lambda known=known, start=start: (
                most_probable(Response(base, known.response.priors), known.visits, known.sigma, start).z
            ),
            "differences": lambda known=known, start=start: by_differences(
                Response(base, known.response.priors), known.visits, known.sigma, start
            ),
        }
        found, took = {}, {name: [] for name in searches}
        for _ in range(2):
            for name, search in searches.items():
                runs.clear()
                begin = time.process_time()
                found[name] = search()
                took[name].append(time.process_time() - begin)
                if name == "derivatives":
                    plain, derived = runs["areas"], runs["areas_and_slopes"]
                else:
                    differenced = runs["areas_and_smallest"]
        for name in searches:
            spent[name] += min(took[name])
        off = np.max(np.abs(found["derivatives"] - found["differences"]) / np.sqrt(np.diag(known.covariance)))
        print(
            f"eye {eye}: {derived} runs with derivatives and {plain} without, against {differenced}; "
            f"{min(took['derivatives']):.3f} s against {min(took['differences']):.3f} s, estimates off by {off:.3f}",
            flush=True,
        )
    print(f"all: {spent['derivatives'] / spent['differences']:.2f} of the processor time")


if __name__ == "__main__":
    main()
