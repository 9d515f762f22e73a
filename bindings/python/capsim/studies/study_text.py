# SPDX-License-Identifier: BSD-3-Clause
"""What every study of a crowd has: its text, its laws and eyes, and what must be said beside it."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from numpy.typing import NDArray


class StudyText:
    """A study as the library told it; see `capsim.compare`, `capsim.visits` and `capsim.cuts`."""

    def __init__(self, text: str) -> None:
        """Reads the JSON text of a study."""
        self._text = text
        self._tree: dict[str, Any] = json.loads(text)

    @property
    def laws(self) -> list[str]:
        """Contraction laws."""
        return list(self._tree["laws"])

    @property
    def eyes(self) -> int:
        """How many eyes."""
        return int(self._tree["eyes"])

    @property
    def cancelled(self) -> bool:
        """Whether it was ended on the way; what was done by then is kept."""
        return bool(self._tree["cancelled"])

    @property
    def cautions(self) -> list[str]:
        """To be shown wherever the result is shown."""
        return list(self._tree["cautions"])

    def to_json(self) -> str:
        """All of it as JSON text."""
        return self._text

    def _read_values(self) -> NDArray[np.float64]:
        values = np.array(self._tree["values"], dtype=float).reshape(self._tree["shape"])
        values.flags.writeable = False
        return values
