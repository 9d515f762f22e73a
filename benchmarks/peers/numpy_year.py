#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""A year of an eye's contraction with NumPy and SciPy: what a careful program in their terms takes.

    benchmark_export_eye default coarse >eye.json
    python benchmarks/peers/numpy_year.py eye.json [--full-newton]

Same elements, quadrature, laws and tolerances as the library; whole arrays at a time, one BLAS thread, sparse operators
for deformation gradients, SuperLU with a symmetric minimum-degree ordering. Time is integrated by `solve_ivp` (RK45),
with an equilibrium at every stage. `--full-newton` factorizes anew in each iteration; without it a factorization is
kept while fewer than eight more iterations are expected from it: chord Newton, as the library has it.
Set-up (operators, pattern) is not timed. Prints a line of JSON and checks nothing.
"""

import argparse
import json
import os
import time

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"

import numpy as np  # noqa: E402
import scipy.sparse as sparse  # noqa: E402
from numpy_tissue import NeoHookean, law_of, split, stress, tangent  # noqa: E402
from scipy.integrate import solve_ivp  # noqa: E402
from scipy.sparse.linalg import splu  # noqa: E402

CHORD_STEPS_WORTH = 8
STEP_CAP_MM = 0.2
LEAST_STEP = 1e-3


class Eye:
    """The equations: energy, forces and stiffness at nodal positions, for the tissue's state of the moment."""

    def __init__(self, arrays):
        self.rest = np.array(arrays["rest_mm"])
        size = self.rest.size
        self.regions = arrays["anterior"] + arrays["posterior"]
        self.operator = sparse.vstack([self._operator(r, size) for r in self.regions]).tocsr()
        order, first = [[], [], [], []], 0  # rows of component i of all points, one after the other
        for r in self.regions:
            points = len(r["weights_mm2"])
            for i in range(4):
                order[i].append(np.arange(first + i * points, first + (i + 1) * points))
            first += 4 * points
        self.operator = self.operator[np.concatenate([np.concatenate(rows) for rows in order])].tocsr()
        self.transposed = self.operator.T.tocsr()
        area = np.concatenate([r["weights_mm2"] for r in self.regions])
        self.thick_area = area * np.concatenate([r["thickness_mm"] for r in self.regions])
        eps = arrays["compression_fraction"]
        self.leaf = NeoHookean(arrays["shear_modulus_kPa"], 1, eps, 1 - eps)
        self.tissue = law_of(arrays["tissue"], area)
        self.points = self.tissue.points
        self._springs(arrays, size)
        self._pattern(arrays, size)

    @staticmethod
    def _operator(region, size):
        n, q = region["nodes_per_element"], region["points_per_element"]
        nodes = np.array(region["nodes"]).reshape(-1, n)
        points = len(nodes) * q
        gradient = np.array(region["gradients"]).reshape(points, n, 2)
        node = np.repeat(nodes[:, None, :], q, axis=1).reshape(points, n)
        row = np.repeat(np.arange(points), n)
        blocks = [
            sparse.csr_matrix((gradient[:, :, j].ravel(), (row, (2 * node + i).ravel())), shape=(points, size))
            for i in range(2)
            for j in range(2)
        ]
        return sparse.vstack(blocks)

    def _springs(self, arrays, size):
        bundles = arrays["zonule"]
        self.bundle_nodes = np.array([b["nodes"] for b in bundles])
        self.bundle_share = np.array([b["share"] for b in bundles])
        count, each = self.bundle_nodes.shape
        row = np.repeat(np.arange(count), each)
        part = [
            sparse.csr_matrix(
                (self.bundle_share.ravel(), (row, (2 * self.bundle_nodes + i).ravel())), shape=(count, size)
            )
            for i in range(2)
        ]
        self.insertion = sparse.vstack(part).tocsr()
        self.insertion_transposed = self.insertion.T.tocsr()
        self.anchor = np.array([b["anchor_mm"] for b in bundles]).T
        self.bundle_stiffness = np.array([b["stiffness_mN_per_mm"] for b in bundles])
        self.slack = np.array([b["slack_length_mm"] for b in bundles])
        equator = np.array(arrays["equator_nodes"])
        self.bed = np.concatenate([2 * equator, 2 * equator + 1])
        self.bed_stiffness = arrays["backing_mN_per_mm"] / len(equator)
        self.bed_rest = np.array(arrays["backing_rest_mm"])[self.bed]

    def _pattern(self, arrays, size):
        rows, columns, self.element_operators = [], [], []
        for region in self.regions:
            n, q = region["nodes_per_element"], region["points_per_element"]
            nodes = np.array(region["nodes"]).reshape(-1, n)
            dofs = np.stack([2 * nodes, 2 * nodes + 1], -1).reshape(len(nodes), -1)
            rows.append(np.repeat(dofs, 2 * n, axis=1).ravel())
            columns.append(np.tile(dofs, (1, 2 * n)).ravel())
            gradient = np.array(region["gradients"]).reshape(len(nodes), q, n, 2)
            operator = np.zeros((len(nodes), q, 4, 2 * n))
            operator[:, :, 0, 0::2], operator[:, :, 1, 0::2] = gradient[..., 0], gradient[..., 1]
            operator[:, :, 2, 1::2], operator[:, :, 3, 1::2] = gradient[..., 0], gradient[..., 1]
            self.element_operators.append(operator)
        dofs = np.stack([2 * self.bundle_nodes, 2 * self.bundle_nodes + 1], -1).reshape(len(self.slack), -1)
        each = dofs.shape[1]
        rows += [np.repeat(dofs, each, axis=1).ravel(), np.arange(size)]
        columns += [np.tile(dofs, (1, each)).ravel(), np.arange(size)]
        row, column = np.concatenate(rows), np.concatenate(columns)
        pattern = sparse.coo_matrix((np.ones(len(row)), (row, column)), shape=(size, size)).tocsc()
        pattern.sort_indices()
        keys = np.repeat(np.arange(size), np.diff(pattern.indptr)).astype(np.int64) * size + pattern.indices
        self.slot = np.searchsorted(keys, column.astype(np.int64) * size + row)
        self.pattern = pattern
        self.diagonal = np.full(size, arrays["shift_mN_per_mm"])
        self.diagonal[self.bed] += self.bed_stiffness

    def gradients(self, x):
        return (self.operator @ x).reshape(4, -1)

    def stretches(self, x):
        return self.tissue.stretches(self.gradients(x)[:, : self.points])

    def energy_and_forces(self, x):
        f = self.gradients(x)
        s = split(f)
        if not (s[4] > s[5]).all():
            return np.inf, None
        w, twist, flip = self.leaf.energy_and_rates(s)
        pull = stress(s, twist, flip) * self.thick_area
        energy = w @ self.thick_area
        more, tissue_pull = self.tissue.energy_and_stress(f[:, : self.points])
        energy += more
        pull[:, : self.points] += tissue_pull
        forces = self.transposed @ pull.ravel()
        u = (self.insertion @ x).reshape(2, -1) - self.anchor
        length = np.hypot(*u)
        over = np.maximum(length - self.slack, 0)
        energy += 0.5 * (self.bundle_stiffness * over) @ over
        forces += self.insertion_transposed @ (u * self.bundle_stiffness * over / length).ravel()
        off = x[self.bed] - self.bed_rest
        energy += 0.5 * self.bed_stiffness * off @ off
        forces[self.bed] += self.bed_stiffness * off
        return energy, forces

    def factorization(self, x):
        f = self.gradients(x)
        s = split(f)
        k = tangent(s, *self.leaf.moduli(s)) * self.thick_area[:, None, None]
        k[: self.points] += self.tissue.moduli(f[:, : self.points])
        values, first = [], 0
        for operator in self.element_operators:
            elements, q, _, each = operator.shape
            here = k[first : first + elements * q].reshape(elements, q, 4, 4)
            first += elements * q
            product = np.matmul(here, operator).reshape(elements, 4 * q, each)
            values.append(np.matmul(operator.reshape(elements, 4 * q, each).transpose(0, 2, 1), product).ravel())
        values += [self._bundle_stiffness(x).ravel(), self.diagonal]
        summed = np.bincount(self.slot, np.concatenate(values), len(self.pattern.data))
        matrix = sparse.csc_matrix((summed, self.pattern.indices, self.pattern.indptr), shape=self.pattern.shape)
        return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def _bundle_stiffness(self, x):
        u = (self.insertion @ x).reshape(2, -1) - self.anchor
        length = np.hypot(*u)
        u = u / length
        taut = length > self.slack
        axial = np.where(taut, self.bundle_stiffness, 0)
        across = axial * (length - self.slack) / length
        h = (axial - across) * u[:, None] * u[None] + across * np.eye(2)[:, :, None]
        share = self.bundle_share
        return np.einsum("bp,bq,ijb->bpiqj", share, share, h)


class Balance:
    """Newton's method from a start extrapolated in time; keeps its factorization while that pays."""

    def __init__(self, eye, tolerance, full_newton):
        self.eye, self.tolerance, self.full_newton = eye, tolerance, full_newton
        self.factor, self.trail = None, []
        self.counts = {"forces": 0, "factorizations": 0, "solves": 0, "equilibria": 0}

    def _forces(self, x):
        self.counts["forces"] += 1
        return self.eye.energy_and_forces(x)

    def solve(self, x):
        self.counts["equilibria"] += 1
        energy, forces = self._forces(x)
        fresh = False
        for _ in range(60):
            size = abs(forces).max()
            if size <= self.tolerance:
                return x
            if self.factor is None or (self.full_newton and not fresh):
                self.factor, fresh = self.eye.factorization(x), True
                self.counts["factorizations"] += 1
            step = self.factor.solve(-forces)
            self.counts["solves"] += 1
            scale = min(1, STEP_CAP_MM / abs(step).max())
            while True:
                tried, answer = self._forces(x + scale * step)
                lower = np.isfinite(tried) and (
                    tried <= energy + 1e-13 * abs(energy) + 1e-12 or abs(answer).max() < 0.7 * size
                )
                if lower or not fresh or scale < LEAST_STEP:
                    break
                scale *= 0.5
            if not np.isfinite(tried):
                self.factor, fresh = None, False
                continue
            x, energy, forces = x + scale * step, tried, answer
            left, ratio = abs(forces).max(), min(abs(forces).max() / size, 0.999)
            if left > self.tolerance and np.log(self.tolerance / left) / np.log(ratio) > CHORD_STEPS_WORTH:
                self.factor = None
            fresh = False
        raise RuntimeError("no equilibrium in 60 iterations")

    def at(self, day):
        """The equilibrium of the state that the eye holds, from a parabola through up to three earlier days."""
        self.trail = [item for item in self.trail if item[0] <= day + 1e-9]
        use = []
        for known, x in reversed(self.trail):
            if not use or known < use[-1][0] - max(1e-9, 0.34 * abs(day - self.trail[-1][0])):
                use.append((known, x))
            if len(use) == 3:
                break
        start = self.eye.rest.copy() if not use else 0
        for i, (known, x) in enumerate(use):
            others = [other for j, (other, _) in enumerate(use) if j != i]
            start = start + np.prod([(day - other) / (known - other) for other in others]) * x
        x = self.solve(start)
        if self.trail and abs(self.trail[-1][0] - day) < 1e-9:
            self.trail.pop()
        self.trail = [*self.trail[-7:], (day, x)]
        return x


class Year:
    """The tissue's state through time, an equilibrium at each of its states."""

    def __init__(self, eye, balance):
        self.eye, self.balance = eye, balance

    def rest(self, day, y):
        self.eye.tissue.take(y)
        return self.balance.at(day)

    def rate(self, day, y):
        return self.eye.tissue.rate(day, y, self.eye.stretches(self.rest(day, y)))


def outline_area(x, outline):
    """Area inside a closed curve of three-node segments, by three Gauss points on each."""
    points = x.reshape(-1, 2)[outline]
    i = np.arange(0, len(outline), 2)
    start, middle, end = points[i], points[i + 1], points[(i + 2) % len(outline)]
    total = 0.0
    for t, weight in ((-np.sqrt(0.6), 5 / 9), (0, 8 / 9), (np.sqrt(0.6), 5 / 9)):
        at = 0.5 * t * (t - 1) * start + 0.5 * t * (t + 1) * end + (1 - t * t) * middle
        along = (t - 0.5) * start + (t + 0.5) * end - 2 * t * middle
        total += weight * 0.5 * (at[:, 0] * along[:, 1] - at[:, 1] * along[:, 0]).sum()
    return total


def run(arrays, full_newton=False):
    """The course of the area, and what it took."""
    eye = Eye(arrays)
    balance = Balance(eye, arrays["tolerance_mN"], full_newton)
    year = Year(eye, balance)
    tolerance = arrays["time_tolerance"]
    began = time.process_time()
    days = np.array(arrays["day"])
    course = solve_ivp(
        year.rate,
        (0, days[-1]),
        eye.tissue.start(),
        method="RK45",
        rtol=tolerance,
        atol=tolerance,
        max_step=arrays["max_step_days"],
        first_step=0.5,
        dense_output=True,
    )
    balance.trail.clear()
    area = [outline_area(year.rest(day, course.sol(day)), arrays["outline_nodes"]) for day in days]
    took = 1e3 * (time.process_time() - began)
    return {
        "year_ms": round(took, 2),
        "area_mm2": area[-1],
        "largest_area_difference": float(np.abs(np.array(area) / np.array(arrays["area_mm2"]) - 1).max()),
        "rates": int(course.nfev),
        **balance.counts,
    }


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("eye", help="what benchmark_export_eye wrote")
    parser.add_argument("--full-newton", action="store_true", help="a factorization in each iteration")
    options = parser.parse_args()
    with open(options.eye, encoding="utf-8") as file:
        arrays = json.load(file)
    print(json.dumps(run(arrays, options.full_newton)))


if __name__ == "__main__":
    main()
