# SPDX-License-Identifier: BSD-3-Clause
"""How far a plane bag is off: the round bag with a meridian, whose leaves are caps of spheres when unloaded.

    python3 tests/evidence/meridian.py       prints the table of libcapsim/doc/credibility.md

The library takes each leaf as a plane sheet. Here both leaves are axisymmetric membranes, free to move along the
axis, with the library's capsule (neo-Hookean, tension field, 5 % of the compressive stiffness), joined at an equator that
the zonule pulls outward; a line tension T [mN] round the rim stands for the tissue. Unknown are radius r and height z of
the nodes of both meridians; the energy is the sum over rings of 2 pi R L h W(lm, lh), lm = length / L, lh = r / R, plus
2 pi T r(rim) and the zonule's spring. The stress-free caps are those with which the eye at rest has the stated opening
and bag, as in the library. No part of the library is used.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from scipy.optimize import fsolve, minimize

OPENING_MM, BAG_MM, OPTIC_MM = 5.25, 10.3, 6.0
MU_KPA, EPS = 830 / 3, 0.05
ANTERIOR_MM, POSTERIOR_MM = 0.014, 0.005
ZONULE_MN_PER_MM, PULL_MN = 150.0, 22.1
RINGS = 16


def density(a, b):
    """Blended energy density [kPa] and its derivatives by the two stretches."""
    full = MU_KPA / 2 * (a**2 + b**2 + 1 / (a * b) ** 2 - 3)
    by_a, by_b = MU_KPA * (a - 1 / (a**3 * b**2)), MU_KPA * (b - 1 / (a**2 * b**3))
    taut = (a * np.sqrt(b) > 1) & (b * np.sqrt(a) > 1)
    along_a, along_b = ~taut & (a >= b) & (a > 1), ~taut & (b > a) & (b > 1)
    relaxed, relaxed_a, relaxed_b = (np.where(taut, v, 0.0) for v in (full, by_a, by_b))
    for mask, c, slope in ((along_a, a, relaxed_a), (along_b, b, relaxed_b)):
        relaxed = np.where(mask, MU_KPA / 2 * (c**2 + 2 / c - 3), relaxed)
        slope[mask] = MU_KPA * (c - 1 / c**2)[mask]
    return tuple((1 - EPS) * r + EPS * f for r, f in ((relaxed, full), (relaxed_a, by_a), (relaxed_b, by_b)))


@dataclass(frozen=True)
class Shape:
    """Radii of curvature of the unloaded leaves [mm], infinite when plane, and how the rim is held."""

    anterior_mm: float = np.inf
    posterior_mm: float = np.inf
    optic_height_mm: float | None = None
    """Height over the equator at which an optic holds what lies on it; None: no optic."""


def cap(inner_mm, outer_mm, curvature_mm):
    """Unloaded meridian from the rim (or pole) to the equator: radius and height, nodes evenly along it."""
    if np.isinf(curvature_mm):
        return np.linspace(inner_mm, outer_mm, RINGS + 1), np.zeros(RINGS + 1)
    angle = np.linspace(np.arcsin(inner_mm / curvature_mm), np.arcsin(outer_mm / curvature_mm), RINGS + 1)
    return curvature_mm * np.sin(angle), curvature_mm * (np.cos(angle) - np.cos(angle[-1]))


class Bag:
    """The bag with unloaded rim and equator of given radii."""

    def __init__(self, shape, rim_mm, equator_mm, pull_at_mm):
        self.shape, self.anchor = shape, pull_at_mm + PULL_MN / ZONULE_MN_PER_MM
        front, back = cap(rim_mm, equator_mm, shape.anterior_mm), cap(0.0, equator_mm, shape.posterior_mm)
        self.leaves = [self._leaf(front, ANTERIOR_MM), self._leaf(back, POSTERIOR_MM)]
        # Unknown: r z of the anterior nodes, r of the last being the equator; then of the posterior ones without it.
        count = 2 * (RINGS + 1) + 2 * RINGS
        self.first = np.zeros(count)
        self.first[: 2 * RINGS + 2 : 2], self.first[1 : 2 * RINGS + 2 : 2] = front
        self.first[2 * RINGS + 2 :: 2], self.first[2 * RINGS + 3 :: 2] = back[0][:-1], -back[1][:-1]
        free = np.ones(count, bool)
        free[2 * RINGS + 1] = False  # the zonule pulls in the plane of the equator
        free[2 * RINGS + 2] = False  # the posterior pole stays on the axis
        if shape.optic_height_mm is not None:
            on_it = 2 * np.flatnonzero(front[0] < OPTIC_MM / 2) + 1
            free[on_it], self.first[on_it] = False, shape.optic_height_mm
        self.free = np.flatnonzero(free)
        back_nodes = np.append(np.arange(RINGS + 1, 2 * RINGS + 1), RINGS)
        self.nodes = [np.arange(RINGS + 1), back_nodes]

    @staticmethod
    def _leaf(meridian, thickness):
        r, z = meridian
        length, middle = np.hypot(np.diff(r), np.diff(z)), 0.5 * (r[1:] + r[:-1])
        return length, middle, 2 * np.pi * middle * length * thickness

    def energy(self, x, tension):
        """And its gradient."""
        r, z = x[::2], x[1::2]
        g = np.zeros((len(r), 2))
        total = 2 * np.pi * tension * r[0] + ZONULE_MN_PER_MM / 2 * (self.anchor - r[RINGS]) ** 2
        g[0, 0] += 2 * np.pi * tension
        g[RINGS, 0] -= ZONULE_MN_PER_MM * (self.anchor - r[RINGS])
        for (length, middle, weight), nodes in zip(self.leaves, self.nodes):
            dr, dz = np.diff(r[nodes]), np.diff(z[nodes])
            now = np.hypot(dr, dz)
            w, by_m, by_h = density(now / length, 0.5 * (r[nodes][1:] + r[nodes][:-1]) / middle)
            total += weight @ w
            for at, sign in ((nodes[:-1], -1), (nodes[1:], 1)):
                np.add.at(g, (at, 0), weight * (sign * by_m * dr / (now * length) + 0.5 * by_h / middle))
                np.add.at(g, (at, 1), weight * sign * by_m * dz / (now * length))
        return total, g.ravel()

    def rest(self, tension, start=None):
        """Radii of rim and equator in equilibrium, and all positions."""
        x = self.first.copy() if start is None else start.copy()

        def of_free(y):
            x[self.free] = y
            e, g = self.energy(x, tension)
            return e, g[self.free]

        found = minimize(of_free, x[self.free], jac=True, method="BFGS", options={"gtol": 1e-7, "maxiter": 4000})
        x[self.free] = found.x
        return x[0], x[2 * RINGS], x


def stated(shape):
    """The bag that has the stated opening and equator at rest."""

    def bag(p):
        return Bag(shape, p[0], p[1], BAG_MM / 2)

    def missed(p):
        rim, equator, _ = bag(p).rest(0.0)
        return [rim - OPENING_MM / 2, equator - BAG_MM / 2]

    return bag(fsolve(missed, [0.98 * OPENING_MM / 2, 0.98 * BAG_MM / 2], xtol=1e-6))


SHAPES = {
    "plane": Shape(),
    "caps of 10 and 6 mm, no optic": Shape(10.0, 6.0),
    "caps, on an optic 0.5 mm above the equator": Shape(10.0, 6.0, 0.5),
    "caps, on an optic 1 mm above the equator": Shape(10.0, 6.0, 1.0),
}
TENSIONS_MN = (0.6, 1.8)


def losses(shape):
    """Loss of the opening's area and of the bag's diameter [%] at each tension, and the largest height [mm] of the anterior leaf."""
    bag, rows, x = stated(shape), [], None
    rim0, equator0, x = bag.rest(0.0)
    for tension in TENSIONS_MN:
        rim, equator, x = bag.rest(tension, x)
        rows.append((100 * (1 - (rim / rim0) ** 2), 100 * (1 - equator / equator0), np.ptp(x[1 : 2 * RINGS + 2 : 2])))
    return rows


def table():
    """Lines of the table of the page."""
    head = ["unloaded leaves", *(f"T = {t:g} mN" for t in TENSIONS_MN), "height of the anterior leaf [mm]"]
    lines = ["| " + " | ".join(head) + " |", "|---" * len(head) + "|"]
    for name, shape in SHAPES.items():
        rows = losses(shape)
        cells = [f"{area:.1f} / {bag:.2f}" for area, bag, _ in rows]
        lines.append("| " + " | ".join([name, *cells, f"{rows[-1][2]:.2f}"]) + " |")
    return lines


if __name__ == "__main__":
    print("\n".join(table()))
    sys.exit(0)
