# SPDX-License-Identifier: BSD-3-Clause
"""The invented eye that the tests of fits share: the same coarse model makes its visits and fits them, so only the noise is between."""

import capsim
import numpy as np
from capsim.calibration.prior import SIZE

MODULUS, RATE = "contraction.fibre_modulus_kPa", "contraction.tissue_per_day"
NOISE = 0.03
DAYS = np.array([1.0, 14.0, 30.0, 60.0, 90.0, 180.0])


def invented_eye():
    """An eye that contracts enough for a few visits to tell its parameters; the default eye may not."""
    return capsim.Scenario(
        name="invented eye",
        eye="right",
        mesh={"around": 12, "radial": 2},
        zonule={"strength": 0.3, "pull_mN": 60},
        opening={"diameter_mm": 4.8},
        contraction={"fibre_modulus_kPa": 300, "band_width_mm": 0.6, "signal_days": 45, "deactivation_per_day": 1 / 60},
    )


def measured(base, truth, days=DAYS, noise=NOISE, rng=None, eye_id="eye"):
    """Visits of an eye with these parameters."""
    values = {path: value for path, value in truth.items() if path != SIZE}
    scenario = base.with_(
        {
            **values,
            "opening.diameter_mm": base.opening.diameter_mm * truth.get(SIZE, 1.0),
            "duration_days": float(max(days)),
            "output_every_days": 1,
        }
    )
    history = capsim.simulate(scenario)
    history.raise_if_failed()
    areas = np.interp(days, history.day, history.opening_area_mm2)
    if rng is not None:
        areas = areas * np.exp(noise * rng.standard_normal(len(areas)))
    return capsim.Visits(days, areas, eye_id=eye_id)


def fit_of_known_eye(base):
    """A fit, and the truth behind its data."""
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    return capsim.fit(measured(base, truth, rng=np.random.default_rng(4)), base).only, truth
