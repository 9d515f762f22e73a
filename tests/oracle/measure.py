# SPDX-License-Identifier: BSD-3-Clause
"""What the solver's displacements mean for the opening: area, centroid, outline, pull.

Own formulas, written for curves of quadratic edges and for sectors between mirrors; nothing is taken from
the library. Positions are (x, y) in mm.
"""

import math

from deck import LINEAR_SHARE

GAUSS = [
    (-0.8611363115940526, 0.3478548451374538),
    (-0.3399810435848563, 0.6521451548625461),
    (0.3399810435848563, 0.6521451548625461),
    (0.8611363115940526, 0.3478548451374538),
]


def on_edge(p, m, q, t):
    """Place and slope at t = -1..1 on the quadratic edge through p, m (middle), q."""
    n = (-0.5 * t * (1 - t), 1 - t * t, 0.5 * t * (1 + t))
    d = (t - 0.5, -2 * t, t + 0.5)
    return (
        tuple(n[0] * p[i] + n[1] * m[i] + n[2] * q[i] for i in (0, 1)),
        tuple(d[0] * p[i] + d[1] * m[i] + d[2] * q[i] for i in (0, 1)),
    )


def swept(curve):
    """Area swept about the origin by a curve of quadratic edges, and its moment about the y axis."""
    area = moment = 0.0
    for k in range(0, len(curve) - 1, 2):
        for t, w in GAUSS:
            (x, y), (dx, dy) = on_edge(*curve[k : k + 3], t)
            area += 0.5 * w * (x * dy - y * dx)
            moment += w * x * (x * dy - y * dx) / 3
    return area, moment


def opening(deck, place):
    """Area of the whole opening and x of the solved sector's centroid; `place` gives a node's position."""
    first, last = deck.slits.get(0.0, []), deck.slits.get(deck.sector_deg, [])
    nodes = list(reversed(first))[:-1] + deck.rim + last[1:]
    area, moment = swept([place(n) for n in nodes])
    return 360 / deck.sector_deg * area, moment / area


def rim_point(deck, place, angle):
    """Place of the rim at the angle at which it lay unloaded."""
    s = max(k for k in range(len(deck.rays) - 1) if deck.rays[k] <= angle + 1e-12)
    t = -1 + 2 * (angle - deck.rays[s]) / (deck.rays[s + 1] - deck.rays[s])
    return on_edge(*(place(n) for n in deck.rim[2 * s : 2 * s + 3]), t)[0]


def pull(deck, force, held):
    """Sum of the springs' tensions (or of the radial forces on a held edge), and its first two harmonics.

    The harmonics only of a half leaf: those of smaller sectors are zero by their mirrors.
    """
    total = [0.0, 0.0, 0.0]
    for node, angle in deck.pulled.items():
        fx, fy = force[node]
        size = fx * math.cos(angle) + fy * math.sin(angle) if held else math.hypot(fx, fy)
        for k in range(3):
            total[k] += 360 / deck.sector_deg * size * math.cos(k * angle)
    return total


def measure(case, deck, answer):
    """The quantities that are compared, as the library's tool prints them."""
    linear = case["law"]["kind"] == "linear"
    load = LINEAR_SHARE if linear else 1.0
    held = case["support"]["kind"] == "held"

    def moved(share):
        return lambda n: tuple(deck.reference[n][i] + share / load * answer["u"][n][i] for i in (0, 1))

    if linear:  # the area is a quadratic function of the displacements: its linear part
        small = 1e-4
        start, ahead, behind = (opening(deck, moved(s)) for s in (0, small, -small))
        area, center = (start[i] + (ahead[i] - behind[i]) / (2 * small) for i in (0, 1))
    else:
        area, center = opening(deck, moved(1))
    cuts = {math.radians(c["angle_deg"]) for c in case.get("cuts", [])}
    angles = [math.radians(15 * k) for k in range(24)]
    angles = [t for t in angles if not any(abs(t - c) < 1e-9 for c in cuts)]
    whole = [size / load for size in pull(deck, answer["force"], held)]
    measured = {
        "area_mm2": area,
        "pull_mN": whole[0],
        # Only the sector that was solved: (place in the library's list, position).
        "rim_mm": {
            k: rim_point(deck, moved(1), t) for k, t in enumerate(angles) if t <= math.radians(deck.sector_deg) + 1e-9
        },
        "lips_mm": {a: moved(1)(slit[0]) for a, slit in deck.slits.items()},
    }
    if deck.sector_deg == 180:  # smaller sectors leave the opening in the middle
        measured.update(center_mm=center, pull_cos_mN=whole[1], pull_cos2_mN=whole[2])
    return measured
