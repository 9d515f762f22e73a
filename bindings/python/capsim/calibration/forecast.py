# SPDX-License-Identifier: BSD-3-Clause
"""What comes next for an eye: bands, chances of crossing a threshold, the effect of events."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ArgumentError

FloatArray = NDArray[np.float64]


class Forecast:
    """The opening on future days, over samples of the parameters.

    The bands hold the uncertainty of the parameters, not the model's own error; `measured` adds the
    error of the next measurement.

    >>> ahead = fitted.forecast([60, 90], draws=8, seed=1)
    >>> bool(ahead.median_mm2[1] <= ahead.median_mm2[0])
    True
    """

    def __init__(
        self,
        day: FloatArray,
        areas_mm2: FloatArray,
        sigma: float,
        cuts: bool = False,
        *,
        smallest_mm2: FloatArray,
    ) -> None:
        reached = np.isfinite(areas_mm2).all(axis=1)
        if not reached.any():
            raise ArgumentError("no run of the forecast was completed")
        self.day = day
        """Days of the forecast, [days]."""
        self.areas_mm2 = areas_mm2[reached]
        """Areas of the opening [mm2], [samples, days]."""
        self.smallest_mm2 = smallest_mm2[reached]
        """Smallest area from surgery up to each day, over every row of the runs [mm2], [samples, days]."""
        self.failed = int((~reached).sum())
        """Samples whose run did not complete; they are left out."""
        self.reached = reached
        """Which samples completed, [samples drawn]."""
        self.sigma = sigma
        """Standard deviation of the logarithm of a measured area."""
        self.cautions = [_core.research_caution, *([_core.relaxing_cut_caution] if cuts else [])]
        """To be shown wherever the forecast is shown."""

    @property
    def median_mm2(self) -> FloatArray:
        """Middle of the samples [mm2], [days]."""
        return np.asarray(np.median(self.areas_mm2, axis=0))

    @property
    def median_diameter_mm(self) -> FloatArray:
        """Diameter of the circle of that area [mm], [days]."""
        return np.asarray(2 * np.sqrt(self.median_mm2 / np.pi))

    def band_mm2(self, level: float = 0.9, *, measured: bool = False, seed: int = 0) -> tuple[FloatArray, FloatArray]:
        """Lower and upper end of the central band of that probability [mm2], each [days].

        >>> low, high = fitted.forecast([60], draws=8).band_mm2(0.9)
        >>> bool(low[0] < high[0])
        True
        """
        if not 0 < level < 1:
            raise ArgumentError(f"level is {level}; it must be between 0 and 1")
        areas = self.areas_mm2
        if measured:  # each sample is measured a few times, so that the quantiles are smooth
            noise = np.random.default_rng(seed).standard_normal((8, *areas.shape))
            areas = (areas * np.exp(self.sigma * noise)).reshape(-1, areas.shape[1])
        low, high = np.quantile(areas, [(1 - level) / 2, (1 + level) / 2], axis=0)
        return low, high

    def chance_below(self, *, area_mm2: float | None = None, diameter_mm: float | None = None) -> FloatArray:
        """The chance that the opening has been smaller than a threshold on or before each day, [days].

        All days from surgery on count, not only those of the forecast. Counted over the samples: with n of them, 0 and 1 mean less than about 3 / n away from it.

        >>> fitted.forecast([60], draws=8).chance_below(diameter_mm=9)
        array([1.])
        """
        if (area_mm2 is None) == (diameter_mm is None):
            raise ArgumentError("give one threshold: area_mm2 or diameter_mm")
        threshold = np.pi / 4 * diameter_mm**2 if diameter_mm is not None else area_mm2
        return np.asarray((self.smallest_mm2 < threshold).mean(axis=0))

    def __str__(self) -> str:
        low, high = self.band_mm2(0.9)
        lines = [f"{'day':>7}  {'area mm2':>9}  {'9 of 10 between':>17}"]
        lines += [f"{d:7.1f}  {m:9.2f}  {a:8.2f} {b:8.2f}" for d, m, a, b in zip(self.day, self.median_mm2, low, high)]
        if self.failed:
            lines.append(f"! {self.failed} runs did not complete and are left out")
        return "\n".join(lines)

    def __repr__(self) -> str:
        return f"<capsim.Forecast of {len(self.areas_mm2)} samples\n{self}>"


class Effect:
    """What events would change: the same samples without and with them.

    >>> effect = fitted.effect_of([{"day": 70, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}], [80], draws=8, seed=1)
    >>> bool(effect.gain_mm2[0] > 0)
    True
    """

    def __init__(self, without: Forecast, with_events: Forecast) -> None:
        self.without = without
        """The forecast without the events."""
        self.with_events = with_events
        """The forecast with them."""
        both = without.reached & with_events.reached
        if not both.any():
            raise ArgumentError("no run was completed both with and without the events")
        self.day = without.day
        """Days, [days]."""
        self.gain_samples_mm2 = (
            with_events.areas_mm2[both[with_events.reached]] - without.areas_mm2[both[without.reached]]
        )
        """Area gained [mm2], [samples, days]."""
        self.cautions = with_events.cautions
        """To be shown wherever the effect is shown."""

    @property
    def gain_mm2(self) -> FloatArray:
        """Area gained, the middle of the samples [mm2], [days]."""
        return np.asarray(np.median(self.gain_samples_mm2, axis=0))

    def gain_band_mm2(self, level: float = 0.9) -> tuple[FloatArray, FloatArray]:
        """Lower and upper end of the gain [mm2], each [days].

        >>> effect = fitted.effect_of([{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}], [60], draws=4)
        >>> low, high = effect.gain_band_mm2()
        >>> bool(low[0] <= effect.gain_mm2[0] <= high[0])
        True
        """
        low, high = np.quantile(self.gain_samples_mm2, [(1 - level) / 2, (1 + level) / 2], axis=0)
        return low, high

    def __str__(self) -> str:
        low, high = self.gain_band_mm2()
        lines = [f"{'day':>7}  {'gain mm2':>9}  {'9 of 10 between':>17}"]
        lines += [f"{d:7.1f}  {m:9.2f}  {a:8.2f} {b:8.2f}" for d, m, a, b in zip(self.day, self.gain_mm2, low, high)]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return f"<capsim.Effect\n{self}>"
