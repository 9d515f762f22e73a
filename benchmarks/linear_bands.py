# SPDX-License-Identifier: BSD-3-Clause
"""What bands of a population by linearisation err by, beside bands of drawn eyes.

    python3 benchmarks/linear_bands.py [eyes]      200 by default

Every population of the library, one year with monthly rows, 24 x 4 elements. Apart: of the ends of the two bands on the worst day, in widths
of the drawn band on its widest day; half: the same for the band of the first half of these eyes. Widths: of the linear band over the drawn
one, on the last day. Processor time of the linear band over that of the drawn one.
"""

import sys
import time

import capsim

QUANTITIES = ["opening_area_mm2", "area_loss_percent", "zonule_load_total_mN", "equator_diameter_mm"]


def main():
    eyes = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    base = capsim.Scenario(eye="right", duration_days=360, output_every_days=30, mesh={"around": 24, "radial": 4})
    print(f"{'population':<22} {'quantity':<22} {'apart':>6} {'half':>6} {'widths':>7} {'median':>8} {'time':>6}")
    for name in capsim.population_names():
        crowd = capsim.population(name)
        start = time.process_time()
        linear = crowd.linear_bands(base, QUANTITIES)
        between = time.process_time()
        drawn = crowd.bands(base, QUANTITIES, eyes, workers=1)
        end = time.process_time()
        apart, half = linear.differences(drawn), crowd.bands(base, QUANTITIES, eyes // 2, workers=1).differences(drawn)
        for quantity in QUANTITIES:
            low, middle, high = drawn.at(quantity, 360)
            lower, center, higher = linear.at(quantity, 360)
            width = high - low
            print(
                f"{name:<22} {quantity:<22} {apart[quantity]:6.2f} {half[quantity]:6.2f} {(higher - lower) / width:7.2f} "
                f"{(center - middle) / width:+8.2f} {(between - start) / (end - between):6.3f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
