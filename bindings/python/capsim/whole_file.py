# SPDX-License-Identifier: BSD-3-Clause
"""Files that are written whole or not at all, and read only when every byte is the one that was written.

A sealed file ends with a line that has the checksum of all bytes before it. HDF5 does not look there; a damaged HDF5 file
may crash the library that reads it, so the seal is looked at first.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path

from .errors import ResultsFileError

_SEAL_START = b"\ncapsim-seal sha256:"
_SEAL_LENGTH = len(_SEAL_START) + 64 + 1


def seal_of(data: bytes) -> bytes:
    """The line that seals the bytes."""
    return _SEAL_START + hashlib.sha256(data).hexdigest().encode() + b"\n"


def unsealed(path: Path, what: str) -> bytes:
    """The bytes under the seal of a file, ``what`` it should be in words.

    Raises FileNotFoundError when there is none, and `ResultsFileError` for a file without a seal or with another one.
    """
    path.stat()
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ResultsFileError(f"can't read {path}: {error.strerror}") from None
    seal = data[-_SEAL_LENGTH:]
    if not seal.startswith(_SEAL_START):
        raise ResultsFileError(
            f"{path} is not {what}: it has no seal at its end; cut short, or written by another program"
        )
    if seal != seal_of(data[:-_SEAL_LENGTH]):
        raise ResultsFileError(f"{path} is damaged: its bytes are not those that were written")
    return data[:-_SEAL_LENGTH]


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file under a name of its own beside `path` and moves it there; raises `ResultsFileError`.

    Whatever goes wrong (a full disk, a file system that can only be read) leaves what was there before.
    """
    temporary = ""
    try:
        fd, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
        with open(fd, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, path)
    except BaseException as error:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        if isinstance(error, OSError):
            raise ResultsFileError(f"can't write {path}: {error.strerror or error}") from None
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
