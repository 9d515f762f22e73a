# SPDX-License-Identifier: BSD-3-Clause
"""A scenario: everything that defines one eye, one operation and one follow-up, as plain values."""

from __future__ import annotations

import copy
import difflib
import json
import os
from pathlib import Path
from typing import Any, Iterator, Mapping, Union

from . import _core

_HEADER = {"format": "capsim-scenario", "version": 1}


class Section:
    """Attribute access to one group of values, `scenario.zonule.strength = 0.4`.

    Only names that exist can be read or set; a wrong one raises AttributeError with a suggestion.
    Whether a value is allowed is checked by `Scenario.validate` and before every run.
    """

    __slots__ = ("_values", "_path")

    def __init__(self, values: dict[str, Any], path: str) -> None:
        object.__setattr__(self, "_values", values)
        object.__setattr__(self, "_path", path)

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return _wrapped(_known(self._values, name, self._path), f"{self._path}.{name}")

    def __setattr__(self, name: str, value: Any) -> None:
        _known(self._values, name, self._path)
        self._values[name] = _plain(value)

    def __dir__(self) -> list[str]:
        return sorted(self._values)

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Section) and self._values == other._values

    __hash__ = None  # type: ignore[assignment]

    def to_dict(self) -> dict[str, Any]:
        """A copy as nested plain dicts and lists."""
        return copy.deepcopy(self._values)

    def __repr__(self) -> str:
        return f"<{self._path}: {self._values}>"


class Scenario:
    """Everything that defines one eye, one operation and one follow-up.

    Every value has a default and carries its unit in its name. ``Scenario()`` is the default eye;
    keywords replace whole sections: ``Scenario(name="weak", zonule={"strength": 0.3})``.
    Values are read and set as attributes, ``scenario.opening.diameter_mm = 4.5``, and checked by
    `validate` and before every run. Keywords raise `ScenarioError` when they are not valid.
    """

    _values: dict[str, Any]

    def __init__(self, **sections: Any) -> None:
        object.__setattr__(self, "_values", _checked({**_HEADER, **sections}))

    @classmethod
    def from_dict(cls, values: Mapping[str, Any]) -> "Scenario":
        """The scenario described by nested dicts with the keys of the JSON form.

        Raises `ScenarioError` with every violation at once.
        """
        return cls._holding(_checked(values))

    @classmethod
    def from_json(cls, path_or_text: Union[str, "os.PathLike[str]"]) -> "Scenario":
        """The scenario in a JSON file, or in JSON text (anything that starts with a brace).

        Raises `ScenarioError` with every violation at once, and OSError for a file that can't be
        read.
        """
        if isinstance(path_or_text, str) and path_or_text.lstrip("\ufeff \t\r\n").startswith(("{", "[")):
            return cls._holding(_normalised(path_or_text))
        return cls._holding(_normalised(Path(path_or_text).read_bytes()))

    def to_dict(self) -> dict[str, Any]:
        """A copy as nested plain dicts and lists, every field present."""
        return copy.deepcopy(self._values)

    def to_json(self, indent: int = 2) -> str:
        """The JSON text, every field present; raises `ScenarioError` when it is not valid."""
        return self._native().to_json(indent)

    def validate(self) -> None:
        """Raises `ScenarioError` with every violation at once; does nothing when all is well."""
        object.__setattr__(self, "_values", json.loads(self._native().to_json()))

    def copy(self) -> "Scenario":
        """An independent copy."""
        return self._holding(self.to_dict())

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return _wrapped(_known(self._values, name, "scenario"), name)

    def __setattr__(self, name: str, value: Any) -> None:
        _known(self._values, name, "scenario")
        self._values[name] = _plain(value)

    def __dir__(self) -> list[str]:
        return sorted({*object.__dir__(self), *self._values})

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Scenario) and self._values == other._values

    __hash__ = None  # type: ignore[assignment]

    def __copy__(self) -> "Scenario":
        return self.copy()

    def __deepcopy__(self, memo: dict[int, Any]) -> "Scenario":
        return self.copy()

    def __reduce__(self) -> tuple[Any, ...]:
        return _holding, (self.to_dict(),)

    def __repr__(self) -> str:
        values = self._values
        return f"<capsim.Scenario {values.get('name')!r}: {values.get('duration_days')} days>"

    def _native(self) -> _core.Scenario:
        return _core.Scenario.from_json(_text(self._values))

    @classmethod
    def _holding(cls, values: dict[str, Any]) -> "Scenario":
        scenario = cls.__new__(cls)
        object.__setattr__(scenario, "_values", values)
        return scenario


def _holding(values: dict[str, Any]) -> Scenario:
    """Restores a pickled scenario, valid or not."""
    return Scenario._holding(values)


def native(scenario: Union[Scenario, Mapping[str, Any], str, "os.PathLike[str]"]) -> _core.Scenario:
    """The compiled scenario of a Scenario, a dict, a path or JSON text; checked."""
    if isinstance(scenario, Mapping):
        return _core.Scenario.from_json(_text(scenario))
    if not isinstance(scenario, Scenario):
        scenario = Scenario.from_json(scenario)
    return scenario._native()


def of_native(scenario: _core.Scenario) -> Scenario:
    """The Python scenario of a compiled one."""
    return Scenario._holding(json.loads(scenario.to_json()))


def _normalised(text: Union[str, bytes]) -> dict[str, Any]:
    """The complete values in a JSON text, defaults filled in; raises ScenarioError."""
    return json.loads(_core.Scenario.from_json(text).to_json())


def _checked(values: Mapping[str, Any]) -> dict[str, Any]:
    return _normalised(_text(values))


def _text(values: Mapping[str, Any]) -> str:
    # Twice the same key (4 and "4") and NaN stay in the text: the reader refuses them by their path.
    return json.dumps(dict(values), default=_plain, ensure_ascii=False)


def _plain(value: Any) -> Any:
    """Values of NumPy and sections as plain Python values."""
    if isinstance(value, Section):
        return value.to_dict()
    if hasattr(value, "tolist"):
        return value.tolist()
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    raise TypeError(f"a scenario can't hold a value of type {type(value).__name__}")


def _wrapped(value: Any, path: str) -> Any:
    return Section(value, path) if isinstance(value, dict) and not _is_by_hour(path) else value


def _is_by_hour(path: str) -> bool:
    """Values by clock hour are a dict with the hours as keys, not a section."""
    return path.endswith("_by_hour")


def _known(values: dict[str, Any], name: str, path: str) -> Any:
    """The value of `name`, or AttributeError with a suggestion."""
    if name in values:
        return values[name]
    close = difflib.get_close_matches(name, values, n=1)
    hint = f"; did you mean {close[0]!r}?" if close else ""
    raise AttributeError(f"{path} has no value {name!r}{hint}")
