# SPDX-License-Identifier: BSD-3-Clause
"""What a sweep keeps while it runs: an append-only file with one record for each finished run.

Layout: one line of JSON that says what is swept, then records [length u32, CRC-32 u32, bytes]; the CRC is of length and
bytes. A record that a kill left incomplete at the end is cut off when the file is opened again; all whole records
count. A record that is whole but not what was written makes the file refused: it is damaged.
One process writes; a lock refuses a second one.
"""

from __future__ import annotations

import contextlib
import errno
import json
import math
import os
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import ResultsFileError
from .run import Plan, Row

_HEAD = struct.Struct("<II")


class Journal:
    """Open it, `append` rows, read them back with `row`."""

    def __init__(self, path: Path, plan: Plan, record: dict[str, Any]) -> None:
        """`record` says what is swept; a file that was begun with another one is refused."""
        self.path = path
        self._plan = plan
        try:
            self._fd = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
        except OSError as error:
            raise ResultsFileError(f"can't write {path}: {error.strerror}") from None
        self._offsets: dict[int, int] = {}
        self._drawn: dict[int, str] = {}
        try:
            _lock(self._fd, path)
            self._begin(record)
        except BaseException as error:
            os.close(self._fd)
            if isinstance(error, OSError) and not isinstance(error, ResultsFileError):
                raise ResultsFileError(f"can't write {path}: {error.strerror}") from None
            raise

    @property
    def runs(self) -> set[int]:
        """The runs that are in it."""
        return set(self._offsets)

    def drawn(self, run: int) -> str:
        """What `vary` drew for a run that is in it."""
        return self._drawn[run]

    def append(self, row: Row) -> None:
        """Keeps a row; from then on it survives the end of the process."""
        if row.run in self._offsets:
            return
        data = self._packed(row)
        record = _HEAD.pack(len(data), _check_of(data)) + data
        written = 0
        try:
            while written < len(record):
                written += os.write(self._fd, record[written:])
        except OSError as error:
            with contextlib.suppress(OSError):
                os.ftruncate(self._fd, self._end)
                os.lseek(self._fd, self._end, os.SEEK_SET)
            raise ResultsFileError(
                f"can't write {self.path}: {error.strerror}; {len(self._offsets)} finished runs are kept there, and the "
                "same sweep goes on from them"
            ) from None
        self._offsets[row.run] = self._end
        self._drawn[row.run] = row.drawn
        self._end += len(record)

    def row(self, run: int) -> Row:
        """The row of a run; KeyError when it is not there."""
        length, check = _HEAD.unpack(self._read(self._offsets[run], _HEAD.size))
        data = self._read(self._offsets[run] + _HEAD.size, length)
        if _check_of(data) != check:
            raise ResultsFileError(f"{self.path} has changed since it was opened")
        return self._unpacked(data)

    def close(self, remove: bool = False) -> None:
        """Closes it; `remove` when its rows are in the final file."""
        if remove:
            self.path.unlink()
        os.close(self._fd)

    def _begin(self, record: dict[str, Any]) -> None:
        line = (json.dumps(record, sort_keys=True) + "\n").encode()
        size = os.fstat(self._fd).st_size
        first = self._read(0, size if size < len(line) else len(line))
        if size < len(line) and line.startswith(first):  # new, or killed while this line was written
            os.ftruncate(self._fd, 0)
            os.lseek(self._fd, 0, os.SEEK_SET)
            if os.write(self._fd, line) < len(line):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            self._end = len(line)
            return
        if first != line:
            raise ResultsFileError(
                f"{self.path} belongs to another sweep{self._difference(record, size)}; "
                "give another path, or delete that file to begin anew"
            )
        self._end = len(line)
        for row, offset, end in self._records(size):
            self._offsets.setdefault(row.run, offset)
            self._drawn.setdefault(row.run, row.drawn)
            self._end = end
        os.ftruncate(self._fd, self._end)
        os.lseek(self._fd, self._end, os.SEEK_SET)

    def _records(self, size: int) -> Iterator[tuple[Row, int, int]]:
        """The whole records with their begins and ends; what a kill left incomplete at the end is not among them."""
        at = self._end
        while at + _HEAD.size <= size:
            length, check = _HEAD.unpack(self._read(at, _HEAD.size))
            end = at + _HEAD.size + length
            if end > size:
                return
            data = self._read(at + _HEAD.size, length)
            if _check_of(data) != check:
                raise ResultsFileError(
                    f"{self.path} is damaged at byte {at}: a finished run is not what was written; delete the file to "
                    "begin anew"
                )
            yield self._unpacked(data), at, end
            at = end

    def _difference(self, record: dict[str, Any], size: int) -> str:
        try:
            other = json.loads(self._read(0, size).split(b"\n", 1)[0])
            names = [name for name in record if other.get(name) != record[name]]
        except (ValueError, AttributeError):
            return ""
        return f", which differs in: {', '.join(names)}" if names else ""

    def _read(self, offset: int, length: int) -> bytes:
        """Leaves the file position, which is where the next record goes, as it was."""
        position = os.lseek(self._fd, 0, os.SEEK_CUR)
        os.lseek(self._fd, offset, os.SEEK_SET)
        parts: list[bytes] = []
        while length > 0:
            part = os.read(self._fd, length)
            if not part:
                break
            parts.append(part)
            length -= len(part)
        os.lseek(self._fd, position, os.SEEK_SET)
        return b"".join(parts)

    def _packed(self, row: Row) -> bytes:
        text = json.dumps([row.run, row.status, row.message, row.flags, row.drawn]).encode()
        numbers: bytes = (
            np.concatenate([row.outcomes, *(values.ravel() for values in row.series)]).astype("<f8").tobytes()
        )
        return struct.pack("<I", len(text)) + text + numbers

    def _unpacked(self, data: bytes) -> Row:
        (length,) = struct.unpack_from("<I", data)
        run, status, message, flags, drawn = json.loads(data[4 : 4 + length])
        numbers = np.frombuffer(data, dtype="<f8", offset=4 + length).astype(np.float64)
        days, at = len(self._plan.days), len(self._plan.outcomes)
        series = []
        for quantity in self._plan.arrays:
            shape = quantity.shape_over(days)
            count = math.prod(shape)
            series.append(numbers[at : at + count].reshape(shape))
            at += count
        return Row(run, status, message, flags, numbers[: len(self._plan.outcomes)], series, drawn)


def _check_of(data: bytes) -> int:
    return zlib.crc32(data, zlib.crc32(struct.pack("<I", len(data))))


def _lock(fd: int, path: Path) -> None:
    try:
        import fcntl
    except ImportError:  # not on this system
        return
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise ResultsFileError(f"{path} is in use by another sweep") from None
    except OSError:  # file systems without locks
        return
