# SPDX-License-Identifier: BSD-3-Clause
"""The tissue of numpy_year.py: sheets and both contraction laws, whole arrays of points at a time.

A law holds the tissue's state (`take`), gives its energy and first Piola-Kirchhoff stress per reference area, the
derivative of that, what it looks at (`stretches`) and its rate. Deformation gradients are 4 x points: 11 12 21 22.
"""

import numpy as np

NO_TISSUE = 1e-12
CORNER = 0.01  # softness of the packing limit, in stretch
PULL_CORNER = 0.03  # of the length that cells can pull, in stretch


def split(f):
    """Deformation gradients (4 x points) as q + r and q - r: half sum and difference of the principal stretches."""
    e, h, d, g = 0.5 * (f[0] + f[3]), 0.5 * (f[2] - f[1]), 0.5 * (f[0] - f[3]), 0.5 * (f[1] + f[2])
    return e, h, d, g, np.hypot(e, h), np.hypot(d, g)


class NeoHookean:
    """Plane-stress neo-Hookean sheet, with shares of the full law where taut and loose, of the uniaxial one where wrinkled."""

    def __init__(self, mu, taut, loose, wrinkled):
        self.mu, self.shares = mu, (taut, loose, wrinkled)

    def _terms(self, s):
        l1, l2 = s[4] + s[5], s[4] - s[5]
        k = 1 / l1
        j = k / l2
        taut = (l2 * l2 * l1 >= 1) & (l1 > 1)
        full = self.mu * np.where(taut, self.shares[0], self.shares[1])
        uniaxial = np.where(~taut & (l1 > 1), self.mu * self.shares[2], 0.0)
        u1 = uniaxial * (l1 - k * k)
        w1, w2 = full * (l1 - j * j * k) + u1, full * (l2 - j * j / l2)
        flip = 2 * full * (1 + j**3) + u1 / np.where(s[5] > 0, s[5], 1)
        return l1, l2, k, j, full, uniaxial, (w1 + w2) / s[4], flip

    def energy_and_rates(self, s):
        l1, l2, k, j, full, uniaxial, twist, flip = self._terms(s)
        return full * 0.5 * (l1**2 + l2**2 + j * j - 3) + uniaxial * 0.5 * (l1**2 + 2 * k - 3), twist, flip

    def moduli(self, s):
        _, l2, k, j, full, uniaxial, twist, flip = self._terms(s)
        w11 = full * (1 + 3 * (j * k) ** 2) + uniaxial * (1 + 2 * k**3)
        return w11, 2 * full * j**3, full * (1 + 3 * (j / l2) ** 2), twist, flip


def stress(s, twist, flip):
    """First Piola-Kirchhoff stress from the rates along and across the rotation."""
    de, dh, dd, dg = twist * s[0], twist * s[1], flip * s[2], flip * s[3]
    return 0.5 * np.array([de + dd, dg - dh, dg + dh, de - dd])


def tangent(s, w11, w12, w22, twist, flip):
    """Derivative of the stress by the deformation gradient, 4 x 4 at every point."""
    e, h, d, g, q, r = s
    safe = np.where(r > 0, r, 1)
    zero = np.zeros_like(e)
    along = np.stack([e / q, h / q, zero, zero])
    across = np.stack([zero, zero, np.where(r > 0, d / safe, 1), np.where(r > 0, g / safe, 0)])
    turned = np.stack([-along[1], along[0], zero, zero])
    flipped = np.stack([zero, zero, -across[3], across[2]])
    outer = lambda a, b: np.einsum("ip,jp->pij", a, b)  # noqa: E731
    k = (w11 + 2 * w12 + w22)[:, None, None] * outer(along, along) + twist[:, None, None] * outer(turned, turned)
    k += (w11 - 2 * w12 + w22)[:, None, None] * outer(across, across) + flip[:, None, None] * outer(flipped, flipped)
    mixed = (w11 - w22)[:, None, None] * outer(along, across)
    k += mixed + mixed.transpose(0, 2, 1)
    to = np.array([[0.5, 0, 0, 0.5], [0, -0.5, 0.5, 0], [0.5, 0, 0, -0.5], [0, 0.5, 0.5, 0]])  # rows: e h d g by f
    return np.einsum("ia,pij,jb->pab", to, k, to, optimize=True)


def floored(value, limit, corner):
    above = value - limit
    return limit + 0.5 * (above + np.hypot(above, corner))


class Tissue:
    """Cells c, myofibroblasts m and tissue f at every point; what carries the load is for the laws to add."""

    natural_variables = 0

    def __init__(self, t, area):
        x, y = np.array(t["hoop"]).reshape(-1, 2).T
        self.points = len(x)
        self.area = area[: self.points]
        half = np.sqrt(0.5)
        self.directions = [(x, y), (half * (x + y), half * (y - x)), (half * (x - y), half * (y + x)), (y, -x)]
        self.kinetics = t

    def start(self):
        y = np.zeros((3 + self.natural_variables) * self.points)
        y[: self.points] = self.kinetics["cells"]
        return y

    def stretches(self, f):
        return np.array([np.hypot(f[0] * dx + f[1] * dy, f[2] * dx + f[3] * dy) for dx, dy in self.directions])

    def rate(self, day, y, stretches):
        k = self.kinetics
        c, m, f = y.reshape(-1, self.points)[:3]
        signal = np.exp(-day / k["signal_days"]) + k["chronic_signal"]
        df = k["tissue_per_day"] * m * (1 - f)
        grown = k["regrowth_per_day"] * signal * c * (1 - c)
        active = k["activation_per_day"] * signal * c * (1 - m) - k["deactivation_per_day"] * m
        natural = self.natural_rate(m, f, df, y.reshape(-1, self.points)[3:], stretches)
        return np.concatenate([grown, active, df, natural.ravel()])

    @staticmethod
    def fibre_stress(f, dx, dy, slope):
        """Of fibres along (dx, dy) with tension `slope`, per reference area."""
        n0, n1 = f[0] * dx + f[1] * dy, f[2] * dx + f[3] * dy
        t = slope / np.hypot(n0, n1)
        return np.array([t * n0 * dx, t * n0 * dy, t * n1 * dx, t * n1 * dy])

    @staticmethod
    def fibre_moduli(f, dx, dy, slope, bend):
        n0, n1 = f[0] * dx + f[1] * dy, f[2] * dx + f[3] * dy
        stretch = np.hypot(n0, n1)
        t = slope / stretch
        g = np.stack([n0 * dx, n0 * dy, n1 * dx, n1 * dy], 1)
        k = ((bend - t) / stretch**2)[:, None, None] * g[:, :, None] * g[:, None, :]
        turn = np.stack([dx * dx, dx * dy, dx * dy, dy * dy], 1).reshape(-1, 2, 2) * t[:, None, None]
        k[:, :2, :2] += turn
        k[:, 2:, 2:] += turn
        return k


class FibreRemodelling(Tissue):
    """Fibre families that are laid and remodelled; the matrix resists compression only."""

    natural_variables = 4

    def __init__(self, t, area):
        super().__init__(t, area)
        self.stiffness = t["fibre_stiffness_mN_per_mm"]
        self.matrix = NeoHookean(t["matrix_modulus_kPa"] / 3, 0, 1, -1)
        self.take(self.start())

    def take(self, y):
        f = np.maximum(y[2 * self.points : 3 * self.points], 0)
        some = f > NO_TISSUE
        natural = np.where(some, y[3 * self.points :].reshape(4, -1) / np.where(some, f, 1), 1)
        self.fraction = np.where(some, f, 0)
        self.natural = floored(natural, self.kinetics["packing_limit"], CORNER)

    def natural_rate(self, m, f, df, times_share, stretches):
        target = stretches / self.kinetics["laying_stretch"]
        return m / self.kinetics["remodelling_days"] * (f * target - times_share) + df * target

    def _fibres(self, f):
        for stiffness, natural, (dx, dy), stretch in zip(
            self.stiffness, self.natural, self.directions, self.stretches(f), strict=True
        ):
            if stiffness > 0:
                k = stiffness * self.fraction * self.area
                yield k, natural, dx, dy, np.maximum(stretch / natural - 1, 0)

    def energy_and_stress(self, f):
        s = split(f)
        w, twist, flip = self.matrix.energy_and_rates(s)
        weight = self.kinetics["thickness_mm"] * self.area * self.fraction
        energy, pull = w @ weight, stress(s, twist, flip) * weight
        for k, natural, dx, dy, over in self._fibres(f):
            energy += 0.5 * (k * over) @ over
            pull += self.fibre_stress(f, dx, dy, k * over / natural)
        return energy, pull

    def moduli(self, f):
        s = split(f)
        weight = self.kinetics["thickness_mm"] * self.area * self.fraction
        a = tangent(s, *self.matrix.moduli(s)) * weight[:, None, None]
        for k, natural, dx, dy, over in self._fibres(f):
            a += self.fibre_moduli(f, dx, dy, k * over / natural, np.where(over > 0, k / natural**2, 0))
        return a


class ActiveLockIn(Tissue):
    """Cells that pull, in a sheet with a natural state of its own, which takes up what has been shortened."""

    natural_variables = 3

    def __init__(self, t, area):
        super().__init__(t, area)
        fibres, matrix = t["sheet_modulus_kPa"] / 3, t["matrix_modulus_kPa"] / 3
        self.sheet = NeoHookean(1, fibres, matrix, fibres - matrix)
        self.take(self.start())

    @staticmethod
    def _spectral(metric):
        """Eigenvalues (points x 2) and eigenvectors of tensors given as rr, rh, hh."""
        rr, rh, hh = metric
        return np.linalg.eigh(np.stack([rr, rh, rh, hh], -1).reshape(-1, 2, 2))

    @staticmethod
    def _of(values, vectors):
        """The tensors (points x 2 x 2) with these eigenvalues and eigenvectors."""
        return np.einsum("pia,pa,pja->pij", vectors, values, vectors)

    def _stretch_above(self, metric):
        values, vectors = self._spectral(metric)
        limit = self.kinetics["packing_limit"]
        return self._of(floored(np.sqrt(np.maximum(values, 0)), limit, CORNER), vectors)

    def _natural(self, f, times_share):
        some = f > NO_TISSUE
        metric = np.where(some, times_share / np.where(some, f, 1), np.array([[1.0], [0.0], [1.0]]))
        return self._stretch_above(metric)

    def take(self, y):
        y = y.reshape(-1, self.points)
        f = np.maximum(y[2], 0)
        self.pull = self.kinetics["active_tension_mN_per_mm"] * np.maximum(y[1], 0) * f * self.area
        self.fraction = np.where(f > NO_TISSUE, f, 0)
        (hx, hy), (rx, ry) = self.directions[0], self.directions[3]
        frame = np.stack([rx, hx, ry, hy], -1).reshape(-1, 2, 2)  # columns: radial, hoop
        self.to_natural = np.matmul(frame, np.linalg.inv(self._natural(f, y[3:])))

    def natural_rate(self, m, f, df, times_share, stretches):
        hoop, plus, minus, radial = stretches
        metric = np.array([radial**2, 0.5 * (plus**2 - minus**2), hoop**2])
        some = f > NO_TISSUE
        scale = np.where(some, 1 / np.where(some, f, 1), 1)
        natural, wanted = self._stretch_above(times_share * scale), self._stretch_above(metric)
        inverse = np.linalg.inv(natural)
        kept, vectors = np.linalg.eigh(inverse @ wanted @ wanted @ inverse)
        kept = np.minimum(kept, 1)  # it gives way to shortening only
        flow = natural @ self._of(np.log(kept), vectors) @ natural
        laid = natural @ self._of(kept, vectors) @ natural
        gives_way = np.where(some, self.kinetics["lock_in_per_day"] * m * f, 0)

        def three(a):
            return np.array([a[:, 0, 0], a[:, 0, 1], a[:, 1, 1]])

        return gives_way * three(flow) + df * np.where(some, three(laid), metric)

    def _cells(self, f):
        """Tension, its change with the stretch, and the energy, of the families that cells pull."""
        stretch = self.stretches(f)
        for family, share in ((0, 1.0), (3, self.kinetics["active_radial_share"])):
            if share > 0:
                above = stretch[family] - self.kinetics["packing_limit"]
                root = np.hypot(above, PULL_CORNER)
                pull = share * self.pull
                length = self.kinetics["packing_limit"] + 0.5 * (above + root)
                yield (
                    *self.directions[family],
                    pull * length,
                    0.5 * pull * (1 + above / root),
                    0.5 * pull * (PULL_CORNER**2 / root**3),
                )

    def _elastic(self, f):
        return np.matmul(f.T.reshape(-1, 2, 2), self.to_natural).reshape(-1, 4).T

    def energy_and_stress(self, f):
        s = split(self._elastic(f))
        w, twist, flip = self.sheet.energy_and_rates(s)
        weight = self.kinetics["thickness_mm"] * self.area * self.fraction
        elastic = (stress(s, twist, flip) * weight).T.reshape(-1, 2, 2)
        pull = np.matmul(elastic, self.to_natural.transpose(0, 2, 1)).reshape(-1, 4).T
        energy = w @ weight
        for dx, dy, stored, slope, _ in self._cells(f):
            energy += stored.sum()
            pull = pull + self.fibre_stress(f, dx, dy, slope)
        return energy, pull

    def moduli(self, f):
        s = split(self._elastic(f))
        weight = self.kinetics["thickness_mm"] * self.area * self.fraction
        a = (tangent(s, *self.sheet.moduli(s)) * weight[:, None, None]).reshape(-1, 2, 2, 2, 2)
        back = self.to_natural
        a = np.einsum("pimkn,pjm,pln->pijkl", a, back, back, optimize=True).reshape(-1, 4, 4)
        for dx, dy, _, slope, bend in self._cells(f):
            a = a + self.fibre_moduli(f, dx, dy, slope, bend)
        return a


def law_of(t, area):
    """The tissue of an exported eye, under the law it names."""
    return {"fibre_remodelling": FibreRemodelling, "active_lock_in": ActiveLockIn}[t["law"]](t, area)
