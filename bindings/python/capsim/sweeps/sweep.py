# SPDX-License-Identifier: BSD-3-Clause
"""The sweep: from a base scenario and what varies to labelled arrays."""

from __future__ import annotations

import os
import sys
import types
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor as FuturesExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import numpy as np

from .. import _core
from ..errors import ArgumentError, ResultsFileError, ScenarioError
from ..optional import needed
from ..scenario import Scenario, any_scenario, changed, native
from .dataset import Arrays, Layout
from .design import Design, design_of
from .file import fingerprint, fingerprint_of, load_finished, load_sweep, write_sweep
from .journal import Journal
from .pool import DaskClient, Executor, Item, Place, Threads, Todo
from .quantities import OutcomeFunction, derivatives_of, outcomes_named, series_named
from .run import Plan, Row, Vary

if TYPE_CHECKING:
    import xarray

ProgressFunction = Callable[[int, int], None]


def sweep(
    base: Scenario | Mapping[str, Any] | str | os.PathLike[str],
    axes_or_samples: Any,
    *,
    names: None | Sequence[str] | Mapping[str, Any] = None,
    outcomes: None | str | OutcomeFunction | Iterable[str | OutcomeFunction] = None,
    series: str | Iterable[str] = (),
    days: Iterable[float] | None = None,
    layout: str | None = None,
    workers: int | None = None,
    executor: FuturesExecutor | None = None,
    client: Any = None,
    path: None | str | os.PathLike[str] = None,
    seed: int | None = None,
    vary: Vary | None = None,
    sensitivities: Sequence[str] = (),
    progress: None | bool | ProgressFunction = None,
) -> xarray.Dataset:
    """Runs a scenario many times with changed values, and returns the results as labelled arrays.

    `base` is a Scenario, a dict or a path. `axes_or_samples` says what changes, by dotted path:
    a dict of lists is a grid (every combination, one dimension for each path), a DataFrame, a
    list of dicts, the result of `capsim.samples`, or a dict with ``layout="table"`` is a table of
    samples (one row for each run, dimension ``run``). A matrix with a row for each run is one too, with the `names` of
    its columns: a list of paths, or SALib's problem as it is.

    The dataset holds the scalar `outcomes` (None: the usual ones; `capsim.outcome_names` lists them; a function of a
    `History` that gives a number is one too, by its name), the time `series` on `days`
    (None: the output days of the base), and for each run ``status``, ``message`` and ``flags``.
    Runs that fail stay as rows: NaN where they did not get, the status says why; a combination
    that is not a valid scenario has the status ``invalid_scenario``. `units` and `long_name` are
    attributes of every variable.

    The runs are done by `workers` threads (None: one for each core), or by an `executor` of
    `concurrent.futures`, or by a dask.distributed `client`. Results are the same, bit for bit,
    for any of them and any number of workers.

    With a `path` every finished run is kept at once in ``<path>.partial``, and the whole in an HDF5
    file (netCDF-4 layout) at the end. Called again after an interruption or a crash, the same sweep
    goes on where it was; called after its end, it is read from the file. The same means: the same base, changes, days,
    outcomes, seed, drawn scenarios and build of the library (`capsim.build`); a file of another one is refused, and so
    is a damaged one.

    `sensitivities` are dotted paths: each outcome and series has then its derivative by them as well, ``<name>_by`` with the
    dimension ``parameter``, as `capsim.sensitivities` gives it; a run takes that much longer. A run that is not
    differentiable by one of them has the status ``invalid_scenario``.

    `vary(scenario, rng)` changes each scenario at random: it is given a generator of the run's own,
    whose seed depends on `seed` and the number of the run only.
    `progress`: None shows a bar when tqdm is there and the output is a terminal, False shows none,
    True always; or a function of (runs done, runs in all).

    Raises `ScenarioError` when a path does not exist or no run is valid, ValueError for unknown
    outcomes or series, `ResultsFileError` when the path belongs to another sweep.

    >>> grid = capsim.sweep(uncut, {"opening.diameter_mm": [4.5, 5.5]}, outcomes="area_loss_percent", progress=False)
    >>> float(grid.area_loss_percent.sel({"opening.diameter_mm": 4.5})) > float(grid.area_loss_percent[1])
    True
    """
    needed("xarray", "a sweep")
    scenario = any_scenario(base)
    scenario.validate()
    design = design_of(axes_or_samples, layout, names)
    kept_series = series_named(series)
    kept_outcomes = outcomes_named(outcomes, kept_series)
    plan = Plan(
        scenario.to_dict(),
        kept_outcomes,
        kept_series,
        _days(scenario, days),
        _seed(seed, vary),
        vary,
        derivatives_of(kept_outcomes, kept_series, _paths(sensitivities)),
    )
    place = _place(workers, executor, client)
    _check_some_run_is_valid(plan, design)
    arrangement = Layout(design, plan)
    if path is None:
        arrays = Arrays(arrangement)
        _run(place, plan, design, set(), arrays.put, progress)
        return arrays.to_dataset()
    return _run_to_file(Path(path), place, arrangement, progress)


def _run_to_file(path: Path, place: Place, layout: Layout, progress: None | bool | ProgressFunction) -> xarray.Dataset:
    needed("h5py", "a sweep with a path")
    if not path.parent.is_dir():
        raise ResultsFileError(f"can't write {path}: there is no folder {path.parent}")
    plan, design = layout.plan, layout.design
    record = _record(plan, design)
    if path.exists():
        return load_finished(
            path, lambda: fingerprint_of(record, (plan.drawn(run, design.changes(run)) for run in range(design.size)))
        )
    journal = Journal(path.with_name(path.name + ".partial"), plan, record)
    finished = False
    try:
        _check_drawn(journal, plan, design)
        _run(place, plan, design, journal.runs, journal.append, progress)
        write_sweep(path, layout, record, journal.row)
        finished = True
    finally:
        journal.close(remove=finished)
    return load_sweep(path)


def _check_drawn(journal: Journal, plan: Plan, design: Design) -> None:
    """Refuses to go on with a `vary` that does not draw what it drew: another function may have the same name."""
    for run in sorted(journal.runs) if plan.vary is not None else ():
        if plan.drawn(run, design.changes(run)) != journal.drawn(run):
            raise ResultsFileError(
                f"{journal.path} belongs to another sweep: vary draws another scenario for run {run} now than when it was "
                "kept; give another path, or delete that file to begin anew"
            )


def _run(
    place: Place,
    plan: Plan,
    design: Design,
    done: set[int],
    keep: Callable[[Row], None],
    progress: None | bool | ProgressFunction,
) -> None:
    """Does all runs that are not done yet."""
    todo = _Todo(design, [run for run in range(design.size) if run not in done])
    with _Counter(progress, len(done), design.size) as counter:

        def kept(row: Row) -> None:
            keep(row)
            counter.one_more()

        if len(todo):
            place.do(plan, todo, kept)


class _Todo(Todo):
    """The runs to do; makes the changes of a run when they are asked for."""

    def __init__(self, design: Design, runs: list[int]) -> None:
        self.design = design
        self.runs = runs

    def __len__(self) -> int:
        return len(self.runs)

    def part(self, first: int, last: int) -> list[Item]:
        return [(run, self.design.changes(run)) for run in self.runs[first:last]]


class _Counter:
    """Tells how many runs are done: a bar, a function, or nobody."""

    def __init__(self, progress: None | bool | ProgressFunction, done: int, total: int) -> None:
        self.done, self.total = done, total
        self.tell = progress if callable(progress) else None
        self.bar: Any = None
        if progress is True or (progress is None and sys.stderr is not None and sys.stderr.isatty()):
            try:
                from tqdm.auto import tqdm
            except ImportError:
                if progress is True:
                    needed("tqdm", "a progress bar")
                return
            self.bar = tqdm(total=total, initial=done, unit="run", desc="sweep")

    def one_more(self) -> None:
        self.done += 1
        if self.tell is not None:
            self.tell(self.done, self.total)
        if self.bar is not None:
            self.bar.update()

    def __enter__(self) -> _Counter:
        return self

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.close()


def _record(plan: Plan, design: Design) -> dict[str, Any]:
    """What makes this sweep this sweep; two that differ in any of it must not share a file."""
    vary = None if plan.vary is None else f"{plan.vary.__module__}.{plan.vary.__qualname__}"
    return {
        "format": "capsim-sweep-journal",
        "version": 2,
        "capsim_version": _core.version,
        "build": _core.build,
        "base": plan.base,
        "what varies": fingerprint(design.to_plain()),
        "outcomes": [q.name if q.function is None else [q.name, code_of(q.function)] for q in plan.outcomes],
        "series": [q.name for q in plan.series],
        "days": plan.days.tolist(),
        "seed": plan.seed,
        "vary": vary,
        **({"sensitivities": plan.parameters} if plan.derivatives else {}),
    }


def code_of(function: Any) -> str:
    """Short text that differs where a function does: its code, its defaults and what it closes over."""
    return fingerprint({"code": _described(function)})


def _described(item: Any, depth: int = 0) -> Any:
    code = getattr(item, "__code__", item if isinstance(item, types.CodeType) else None)
    if code is None or depth > 4:
        return repr(item) if not hasattr(item, "tobytes") else repr((item.shape, item.tobytes()))
    cells = [cell.cell_contents for cell in getattr(item, "__closure__", None) or ()]
    return [
        code.co_code.hex(),
        list(code.co_names),
        [_described(constant, depth + 1) for constant in code.co_consts],
        [_described(value, depth + 1) for value in getattr(item, "__defaults__", None) or ()],
        [_described(value, depth + 1) for value in cells],
    ]


def _place(workers: int | None, executor: FuturesExecutor | None, client: Any) -> Place:
    if sum(given is not None for given in (workers, executor, client)) > 1:
        raise ArgumentError("give one of workers, executor and client")
    if executor is not None:
        return Executor(executor)
    if client is not None:
        return DaskClient(client)
    return Threads(workers)


def _days(scenario: Scenario, days: Iterable[float] | None) -> np.ndarray[Any, np.dtype[np.float64]]:
    if days is not None:
        wanted = np.array(sorted({float(day) for day in days}))
        if len(wanted) == 0 or not np.isfinite(wanted).all() or wanted[0] < 0:
            raise ArgumentError("days must be finite numbers from 0 on, at least one")
        return wanted
    last, every = float(scenario.duration_days), float(scenario.output_every_days)
    regular = np.arange(0, int(last / every + 1e-9) + 1) * every
    return np.append(regular[regular < last - 1e-9], last)


def _paths(sensitivities: Sequence[str]) -> list[str]:
    if isinstance(sensitivities, str):
        raise ArgumentError("sensitivities must be a list of paths, not one text")
    return list(dict.fromkeys(sensitivities))


def _seed(seed: int | None, vary: Vary | None) -> int | None:
    if vary is not None and seed is None:
        raise ArgumentError("vary needs a seed, so that the sweep can be repeated")
    if seed is not None and (isinstance(seed, bool) or int(seed) != seed or seed < 0):
        raise ArgumentError(f"seed is {seed!r}; it must be a whole number from 0 on")
    return None if seed is None else int(seed)


def _check_some_run_is_valid(plan: Plan, design: Design) -> None:
    """Refuses, before any work, paths that lead nowhere and a sweep without any valid run."""
    changed(plan.base, design.changes(0))
    first: ScenarioError | None = None
    for run in range(design.size):
        try:
            scenario = plan.scenario(run, design.changes(run))
            break
        except ScenarioError as error:
            first = first or error
    else:
        _no_valid_run(first)
    if plan.derivatives:
        _core.check_sensitivity_parameters(native(scenario), plan.parameters)


def _no_valid_run(first: ScenarioError | None) -> NoReturn:
    assert first is not None
    raise ScenarioError(first.violations, f"no run of the sweep is a valid scenario; the first says:\n{first}")
