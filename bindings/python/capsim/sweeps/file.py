# SPDX-License-Identifier: BSD-3-Clause
"""The file of a finished sweep: HDF5 in the layout of netCDF-4, chunked by runs.

`load_sweep` reads it; so do ``xarray.open_dataset(path, engine="h5netcdf")`` (which leaves large
arrays on disk) and every HDF5 tool. The same sweep gives the same bytes, however often it was
interrupted and on however many workers it ran.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ResultsFileError
from ..optional import needed
from .dataset import TEXT, Layout, Variable, dataset
from .run import Row

if TYPE_CHECKING:
    import xarray

FORMAT, FORMAT_VERSION = "capsim-sweep", 1
_CHUNK_BYTES = 256 * 1024
_LONG = ("base_scenario",)
"""HDF5 refuses attributes above 64 KiB, so this one is a dataset."""
_PRIVATE = ("format", "format_version", "fingerprint", "_NCProperties")
_DESCRIBING = (
    "role",
    "position",
    "dimensions",
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
    """Writes the file, whole or not at all; `row` gives the row of a run."""
    h5py = needed("h5py", "a sweep with a path")
    fd, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    os.close(fd)
    try:
        with h5py.File(temporary, "w") as file:
            file.attrs.update({"format": FORMAT, "format_version": FORMAT_VERSION, "fingerprint": fingerprint(record)})
            for name, value in layout.attrs.items():
                if name in _LONG:
                    file.create_dataset(name, data=value, track_times=False).attrs["role"] = "attribute"
                else:
                    file.attrs[name] = value
            scales = _write_coordinates(h5py, file, layout)
            _write_variables(h5py, file, layout, scales, row)
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, path)
    except BaseException:
        if os.path.exists(temporary):
            os.unlink(temporary)
        raise


def fingerprint_in(path: Path) -> str:
    """The fingerprint of a finished file; raises `ResultsFileError` when it is none."""
    h5py = needed("h5py", "a sweep with a path")
    with _opened(h5py, path) as file:
        return str(file.attrs["fingerprint"])


def load_sweep(path: str | os.PathLike[str]) -> xarray.Dataset:
    """The result of a finished sweep as an xarray.Dataset, in memory.

    Raises FileNotFoundError when there is no file, and `ResultsFileError` for a file that is not
    the result of a sweep.
    """
    h5py = needed("h5py", "reading a sweep")
    with _opened(h5py, Path(path)) as file:
        attrs = {key: value for key, value in file.attrs.items() if key not in _PRIVATE}
        attrs.update({name: file[name].asstr()[()] for name in _LONG})
        parts: dict[str, list[tuple[Variable, NDArray[Any]]]] = {"coordinate": [], "variable": []}
        items = [item for item in file.values() if item.attrs["role"] in parts]
        for item in sorted(items, key=lambda item: int(item.attrs["position"])):
            dims = tuple(str(text) for text in json.loads(item.attrs["dimensions"]))
            values = item.asstr()[...].astype(object) if h5py.check_string_dtype(item.dtype) else item[...]
            of_item = {key: value for key, value in item.attrs.items() if key not in _DESCRIBING}
            variable = Variable(item.name.lstrip("/"), dims, values.dtype, of_item)
            parts[item.attrs["role"]].append((variable, values))
        return dataset(parts["variable"], parts["coordinate"], attrs)


def _opened(h5py: Any, path: Path) -> Any:
    path.stat()
    try:
        file = h5py.File(path, "r")
    except OSError as error:
        raise ResultsFileError(f"{path} is not the result of a sweep: {error}") from None
    if file.attrs.get("format") != FORMAT or file.attrs.get("format_version", 0) > FORMAT_VERSION:
        kind = f"{file.attrs.get('format')} {file.attrs.get('format_version')}"
        file.close()
        raise ResultsFileError(f"{path} is not the result of a sweep that this version can read, but {kind}")
    return file


def _write_coordinates(h5py: Any, file: Any, layout: Layout) -> dict[str, Any]:
    scales = {}
    for position, (variable, values) in enumerate(layout.coordinates):
        created = file.create_dataset(variable.name, values.shape, _stored_type(h5py, variable), track_times=False)
        created[...] = values
        _describe(created, variable, "coordinate", position)
        if variable.dims == (variable.name,):
            created.make_scale(variable.name)
            scales[variable.name] = created
    for variable, _ in layout.coordinates:
        if variable.dims != (variable.name,):
            _attach(file[variable.name], variable, scales)
    return scales


def _write_variables(h5py: Any, file: Any, layout: Layout, scales: dict[str, Any], row: Callable[[int], Row]) -> None:
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
    for first in range(0, outer[0], block):
        last = min(outer[0], first + block)
        rows = [layout.values_of(row(run)) for run in range(first * runs_each, last * runs_each)]
        for k, item in enumerate(created):
            values = np.empty((len(rows), *item.shape[len(outer) :]), dtype=layout.variables[k].dtype)
            for i, of_row in enumerate(rows):
                values[i] = of_row[k]
            item[first:last] = values.reshape(last - first, *item.shape[1:])


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


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
