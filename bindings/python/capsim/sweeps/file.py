# SPDX-License-Identifier: BSD-3-Clause
"""The file of a finished sweep: HDF5 in the layout of netCDF-4, chunked by runs.

`load_sweep` reads it; so do ``xarray.open_dataset(path, engine="h5netcdf")`` (which leaves large
arrays on disk) and every HDF5 tool. A line after the HDF5 data seals the bytes, and every variable has a checksum of its
own: nothing damaged is believed, and HDF5 is never given a file whose seal does not hold. The same sweep gives the same bytes, however often it was
interrupted and on however many workers it ran.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ResultsFileError
from ..optional import needed
from ..whole_file import seal_of, unsealed, write_whole
from .dataset import TEXT, Layout, Variable, dataset
from .run import Row

if TYPE_CHECKING:
    import xarray

FORMAT, FORMAT_VERSION = "capsim-sweep", 2
_CHUNK_BYTES = 256 * 1024
_LONG = ("base_scenario",)
"""HDF5 refuses attributes above 64 KiB, so this one is a dataset."""
_PRIVATE = ("format", "format_version", "fingerprint", "checksum", "_NCProperties")
_DESCRIBING = (
    "role",
    "position",
    "dimensions",
    "checksum",
    "CLASS",
    "NAME",
    "DIMENSION_LIST",
    "REFERENCE_LIST",
    "_Netcdf4Dimid",
    "_Netcdf4Coordinates",
)


def fingerprint(record: dict[str, Any]) -> str:
    """Short text that is different for every sweep."""
    return hashlib.sha256(json.dumps(record, sort_keys=True).encode()).hexdigest()


def write_sweep(path: Path, layout: Layout, record: dict[str, Any], row: Callable[[int], Row]) -> None:
    """Writes the file, whole or not at all; `row` gives the row of a run. Raises `ResultsFileError`.

    It is made in memory first: HDF5 that fails to write, on a full disk, ends in a crash.
    """
    h5py = needed("h5py", "a sweep with a path")
    with h5py.File(f"{path.name}.in-memory", "w", driver="core", backing_store=False) as file:
        file.attrs.update({"format": FORMAT, "format_version": FORMAT_VERSION})
        for name, value in layout.attrs.items():
            if name in _LONG:
                file.create_dataset(name, data=value, track_times=False).attrs["role"] = "attribute"
            else:
                file.attrs[name] = value
        scales = _write_coordinates(h5py, file, layout)
        drawn = _write_variables(h5py, file, layout, scales, row)
        file.attrs["fingerprint"] = fingerprint_of(record, drawn)
        file.attrs["checksum"] = _checksum_of_all(file)
        file.flush()
        image = file.id.get_file_image()
    write_whole(path, image + seal_of(image))


def fingerprint_of(record: dict[str, Any], drawn: Iterable[str]) -> str:
    """The fingerprint of a sweep with what `vary` drew for each of its runs."""
    return fingerprint({**record, "drawn": list(drawn)})


def load_sweep(path: str | os.PathLike[str]) -> xarray.Dataset:
    """The result of a finished sweep as an xarray.Dataset, in memory.

    Raises FileNotFoundError when there is no file, and `ResultsFileError` for a file that is not
    the result of a sweep, is cut short or damaged, or is of a newer format: the seal over all its bytes and the checksum
    of every variable are checked before a number is given out.

    >>> grid = capsim.sweep(uncut, {"opening.diameter_mm": [4.5, 5.5]}, path=folder / "grid.nc", progress=False)
    >>> capsim.load_sweep(folder / "grid.nc").identical(grid)
    True
    """
    return _read(Path(path), None)


def load_finished(path: Path, expected_fingerprint: Callable[[], str]) -> xarray.Dataset:
    """The same, for a file that must be of the sweep with that fingerprint."""
    return _read(path, expected_fingerprint)


def _read(path: Path, expected_fingerprint: Callable[[], str] | None) -> xarray.Dataset:
    h5py = needed("h5py", "reading a sweep")
    data = unsealed(path, "the result of a sweep")
    try:
        with h5py.File(io.BytesIO(data), "r") as file:
            _check_format(path, file)
            if expected_fingerprint is not None and file.attrs["fingerprint"] != expected_fingerprint():
                build = file.attrs.get("capsim_build", "unknown")
                other = (
                    ""
                    if build == _core.build
                    else f", or of another build of capsim ({build}, this one is {_core.build})"
                )
                raise ResultsFileError(f"{path} is the result of another sweep{other}; give another path, or delete it")
            return _dataset_in(h5py, path, file)
    except (OSError, KeyError, ValueError) as error:
        if isinstance(error, ResultsFileError):
            raise
        raise ResultsFileError(f"{path} is not the result of a sweep: {error}") from None


def _dataset_in(h5py: Any, path: Path, file: Any) -> xarray.Dataset:
    attrs = {key: value for key, value in file.attrs.items() if key not in _PRIVATE}
    attrs.update({name: file[name].asstr()[()] for name in _LONG})
    parts: dict[str, list[tuple[Variable, NDArray[Any]]]] = {"coordinate": [], "variable": []}
    items = [item for item in file.values() if item.attrs["role"] in parts]
    for item in sorted(items, key=lambda item: (item.attrs["role"], int(item.attrs["position"]))):
        dims = tuple(str(text) for text in json.loads(item.attrs["dimensions"]))
        values = item.asstr()[...].astype(object) if h5py.check_string_dtype(item.dtype) else item[...]
        of_item = {key: value for key, value in item.attrs.items() if key not in _DESCRIBING}
        checksum = Checksum()
        checksum.add(values)
        if item.attrs["checksum"] != checksum.text:
            raise ResultsFileError(f"{path} is damaged: the values of {item.name.lstrip('/')} are not those written")
        variable = Variable(item.name.lstrip("/"), dims, values.dtype, of_item)
        parts[item.attrs["role"]].append((variable, values))
    if file.attrs["checksum"] != _checksum_of_all(file):
        raise ResultsFileError(f"{path} is damaged: a variable is missing or is not one that was written")
    return dataset(parts["variable"], parts["coordinate"], attrs)


def _check_format(path: Path, file: Any) -> None:
    name, version = file.attrs.get("format"), file.attrs.get("format_version", 0)
    if name != FORMAT or version > FORMAT_VERSION:
        raise ResultsFileError(f"{path} is not the result of a sweep that this version can read, but {name} {version}")


class Checksum:
    """SHA-256 over values, block by block along their first dimension: numbers as their bytes, texts with their lengths."""

    def __init__(self) -> None:
        self._sum = hashlib.sha256()

    def add(self, values: NDArray[Any]) -> None:
        """Adds a block of values."""
        if values.dtype != TEXT:
            self._sum.update(np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<")).tobytes())
            return
        for text in values.ravel():
            data = str(text).encode()
            self._sum.update(len(data).to_bytes(8, "little") + data)

    @property
    def text(self) -> str:
        """The checksum of what was added, as text."""
        return f"sha256:{self._sum.hexdigest()}"


def _checksum_of_all(file: Any) -> str:
    """Over the names and checksums of all coordinates and variables."""
    described = {name: str(item.attrs["checksum"]) for name, item in file.items() if "checksum" in item.attrs}
    return f"sha256:{fingerprint(described)}"


def _write_coordinates(h5py: Any, file: Any, layout: Layout) -> dict[str, Any]:
    scales = {}
    for position, (variable, values) in enumerate(layout.coordinates):
        created = file.create_dataset(variable.name, values.shape, _stored_type(h5py, variable), track_times=False)
        created[...] = values
        _describe(created, variable, "coordinate", position)
        checksum = Checksum()
        checksum.add(values)
        created.attrs["checksum"] = checksum.text
        if variable.dims == (variable.name,):
            created.make_scale(variable.name)
            scales[variable.name] = created
    for variable, _ in layout.coordinates:
        if variable.dims != (variable.name,):
            _attach(file[variable.name], variable, scales)
    return scales


def _write_variables(
    h5py: Any, file: Any, layout: Layout, scales: dict[str, Any], row: Callable[[int], Row]
) -> list[str]:
    """Writes all variables, and returns what `vary` drew for each run."""
    drawn: list[str] = []
    created: list[Any] = []
    for variable in layout.variables:
        shape = tuple(layout.sizes[dim] for dim in variable.dims)
        item = file.create_dataset(
            variable.name, shape, _stored_type(h5py, variable), track_times=False, chunks=_chunks(shape, variable)
        )
        _describe(item, variable, "variable", len(created))
        _attach(item, variable, scales)
        created.append(item)
    # A block of whole chunks of the first dimension at a time: as much as memory need hold.
    outer = layout.design.shape
    block = max([1, *(item.chunks[0] for item in created if item.chunks is not None)])
    runs_each = layout.design.size // outer[0]
    checksums = [Checksum() for _ in created]
    for first in range(0, outer[0], block):
        last = min(outer[0], first + block)
        of_runs = [row(run) for run in range(first * runs_each, last * runs_each)]
        drawn += [of_run.drawn for of_run in of_runs]
        rows = [layout.values_of(of_run) for of_run in of_runs]
        for k, item in enumerate(created):
            values = np.empty((len(rows), *item.shape[len(outer) :]), dtype=layout.variables[k].dtype)
            for i, of_row in enumerate(rows):
                values[i] = of_row[k]
            item[first:last] = values.reshape(last - first, *item.shape[1:])
            checksums[k].add(values)
    for item, checksum in zip(created, checksums):
        item.attrs["checksum"] = checksum.text
    return drawn


def _chunks(shape: tuple[int, ...], variable: Variable) -> tuple[int, ...]:
    """Whole in all dimensions but the first, which has as many as fit a chunk."""
    each = 8 * int(np.prod(shape[1:], dtype=np.int64))
    if variable.dtype == TEXT:
        each *= 2
    return (max(1, min(shape[0], _CHUNK_BYTES // max(each, 1))), *shape[1:])


def _stored_type(h5py: Any, variable: Variable) -> Any:
    return h5py.string_dtype() if variable.dtype == TEXT else variable.dtype


def _describe(created: Any, variable: Variable, role: str, position: int) -> None:
    created.attrs.update(variable.attrs)
    created.attrs["role"] = role
    created.attrs["position"] = position
    created.attrs["dimensions"] = json.dumps(variable.dims)


def _attach(created: Any, variable: Variable, scales: dict[str, Any]) -> None:
    for number, dim in enumerate(variable.dims):
        created.dims[number].attach_scale(scales[dim])
