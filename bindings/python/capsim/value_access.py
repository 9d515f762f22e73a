# SPDX-License-Identifier: BSD-3-Clause
"""Attribute access to nested values that are kept as plain dicts and lists.

The values themselves stay in the shape of the JSON form; what is here only looks at them:
`Section` at a group of named values, `ByHour` at values by clock hour, `Items` at a list of groups.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, MutableMapping, MutableSequence
from typing import (
    TYPE_CHECKING,
    Any,
    ClassVar,
    Generic,
    TypeVar,
    Union,
    overload,
)

from .complete_values import default_at
from .plain_values import plain
from .scenario_values import FIELD_FACTS
from .spelling import did_you_mean

Hour = Union[int, str]
T = TypeVar("T")


_FROZEN = "the scenario of a result can't be changed; take scenario.copy() or scenario.with_(...)"


class Value:
    """One named value of a section; its docstring says what it is, with its unit."""

    name: str

    def __init__(self, description: str) -> None:
        self.description = description
        """What it is, in one sentence, with its unit in brackets."""
        self.__doc__ = description

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name
        place = getattr(owner, "_facts_at", None) or getattr(owner, "_place", None)
        facts = FIELD_FACTS.get(f"{place}.{name}" if place else name)
        if facts is not None:
            self.__doc__ = f"{self.description} {facts}"

    def __get__(self, section: Any, owner: Any = None) -> Any:
        return self if section is None else section._get(self.name)

    def __set__(self, section: Any, value: Any) -> None:
        section._set(self.name, value)


def value(description: str) -> Any:
    """Declares a value of a section: ``strength: float = value("0 absent .. 1 healthy.")``."""
    return Value(description)


class Part(Value, Generic[T]):
    """A named value that is a section, a list or values by hour; it can be set from plain dicts and lists."""

    if TYPE_CHECKING:

        def __get__(self, section: Any, owner: Any = None) -> T: ...

        def __set__(self, section: Any, value: Any) -> None: ...


class Section:
    """A group of named values, ``scenario.zonule.strength = 0.4``.

    Only names that exist can be read or set; a wrong one raises AttributeError with a suggestion.
    Whether a value is allowed is checked by `Scenario.validate` and before every run.
    """

    if not TYPE_CHECKING:  # a type checker would take a declared value for one that has no slot
        __slots__ = ("_values", "_path", "_frozen")
    _values: dict[str, Any]
    _path: str
    _frozen: bool

    _parts: ClassVar[dict[str, type[Section]]] = {}
    """Which of the values are sections themselves, or lists of sections."""
    _place: ClassVar[str | None] = None
    """Its name in the JSON form, by which its defaults are found; None: it has none."""
    _facts_at: ClassVar[str | None] = None
    """Where its fields stand in `scenario_values.FIELD_FACTS`, when that is another place."""

    def __init__(self, values: dict[str, Any], path: str, frozen: bool = False) -> None:
        object.__setattr__(self, "_values", values)
        object.__setattr__(self, "_path", path)
        object.__setattr__(self, "_frozen", frozen)

    if not TYPE_CHECKING:  # declared names are descriptors; a type checker shall refuse all others

        def __getattr__(self, name: str) -> Any:
            if name.startswith("_"):
                raise AttributeError(name)
            return self._get(name)

        def __setattr__(self, name: str, value: Any) -> None:
            self._set(name, value)

    def _get(self, name: str) -> Any:
        if name not in self._values:
            raise AttributeError(self._unknown(name))
        return _view(self._values[name], self._where(name), self._parts.get(name), self._frozen)

    def _set(self, name: str, value: Any) -> None:
        if name not in self._values and name not in self.names():
            raise AttributeError(self._unknown(name))
        if self._frozen:
            raise AttributeError(_FROZEN)
        self._values[name] = _completed(plain(value), self._parts.get(name), self._where(name))

    def _where(self, name: str) -> str:
        return f"{self._path}.{name}" if self._path else name

    def _unknown(self, name: str) -> str:
        if name in self.names():
            return f"{self._where(name)} is not set"
        return f"{self._path or 'scenario'} has no value {name!r}{did_you_mean(name, self.names())}"

    @classmethod
    def names(cls) -> list[str]:
        """The names of all values."""
        return [name for base in reversed(cls.__mro__) for name, item in vars(base).items() if isinstance(item, Value)]

    @classmethod
    def _defaults(cls) -> dict[str, Any]:
        """What a section holds where nothing was said; without the values that have no default."""
        return {} if cls._place is None else copy.deepcopy(default_at(cls._place))

    @classmethod
    def _complete(cls, values: Mapping[str, Any], path: str) -> dict[str, Any]:
        """The values with the defaults of those that are missing; AttributeError for an unknown name."""
        all_values = {**cls._defaults(), **values}
        holder = cls(all_values, path)
        for name in values:
            if name not in cls.names():
                raise AttributeError(holder._unknown(name))
            all_values[name] = _completed(all_values[name], cls._parts.get(name), holder._where(name))
        return all_values

    def __dir__(self) -> list[str]:
        return sorted({*object.__dir__(self), *self._values})

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Section):
            return self._values == other._values
        return isinstance(other, Mapping) and self._values == other

    __hash__ = None  # type: ignore[assignment]

    def to_dict(self) -> dict[str, Any]:
        """A copy as nested plain dicts and lists."""
        return copy.deepcopy(self._values)

    def __repr__(self) -> str:
        inside = ", ".join(f"{name}={item!r}" for name, item in self._values.items())
        return f"<{self._path}: {inside}>"


class ByHour(MutableMapping[int, float]):
    """Values by clock hour, 1..12; the keys are whole numbers, ``strength_by_hour[4] = 0.2``."""

    __slots__ = ("_values", "_frozen")

    def __init__(self, values: dict[str, float], frozen: bool = False) -> None:
        self._values = values
        self._frozen = frozen

    def __getitem__(self, hour: Hour) -> float:
        return self._values[str(hour)]

    def __setitem__(self, hour: Hour, number: float) -> None:
        _refuse_if(self._frozen)
        self._values[str(hour)] = plain(number)

    def __delitem__(self, hour: Hour) -> None:
        _refuse_if(self._frozen)
        del self._values[str(hour)]

    def __iter__(self) -> Iterator[int]:
        return iter(sorted(map(int, self._values)))

    def __contains__(self, hour: object) -> bool:
        return str(hour) in self._values

    def __len__(self) -> int:
        return len(self._values)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Mapping):
            return NotImplemented
        return {str(hour): number for hour, number in self.items()} == {str(h): n for h, n in other.items()}

    def __repr__(self) -> str:
        return repr(dict(self.items()))


S = TypeVar("S", bound=Section)


class Items(MutableSequence[S], Generic[S]):
    """A list of sections, ``scenario.events[0].day = 60``; items may be given as dicts."""

    __slots__ = ("_values", "_path", "_kind", "_frozen")

    def __init__(self, values: list[dict[str, Any]], path: str, kind: type[S], frozen: bool = False) -> None:
        self._values = values
        self._path = path
        self._kind = kind
        self._frozen = frozen

    @overload
    def __getitem__(self, index: int) -> S: ...
    @overload
    def __getitem__(self, index: slice) -> list[S]: ...
    def __getitem__(self, index: int | slice) -> Any:
        if isinstance(index, slice):
            return [self[i] for i in range(*index.indices(len(self)))]
        values = self._values[index]
        return self._kind(values, f"{self._path}[{range(len(self))[index]}]", self._frozen)

    def __setitem__(self, index: Any, item: Any) -> None:
        _refuse_if(self._frozen)
        if isinstance(index, slice):
            self._values[index] = [self._taken(i, len(self)) for i in item]
        else:
            self._values[index] = self._taken(item, index)

    def __delitem__(self, index: Any) -> None:
        _refuse_if(self._frozen)
        del self._values[index]

    def __len__(self) -> int:
        return len(self._values)

    def insert(self, index: int, value: S | Mapping[str, Any]) -> None:
        """Puts an item before the one at `index`."""
        _refuse_if(self._frozen)
        self._values.insert(index, self._taken(value, index))

    def append(self, value: S | Mapping[str, Any]) -> None:
        """Adds an item at the end: ``events.append({"day": 90, "relaxing_cuts": {"hours": [12]}})``."""
        self.insert(len(self), value)

    def extend(self, values: Iterable[S | Mapping[str, Any]]) -> None:
        """Adds items at the end."""
        for item in values:
            self.append(item)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Items):
            return bool(self._values == other._values)
        return isinstance(other, list) and self._values == [plain(item) for item in other]

    def __repr__(self) -> str:
        return repr(self._values)

    def _taken(self, item: Any, index: int) -> dict[str, Any]:
        return self._kind._complete(plain(item), f"{self._path}[{index}]")


def _is_by_hour(path: str) -> bool:
    return path.endswith("_by_hour")


def _refuse_if(frozen: bool) -> None:
    if frozen:
        raise AttributeError(_FROZEN)


def _view(value: Any, path: str, kind: type[Section] | None, frozen: bool) -> Any:
    if isinstance(value, dict):
        if _is_by_hour(path):
            return ByHour(value, frozen)
        return (kind or Section)(value, path, frozen)
    if isinstance(value, list):
        if kind is not None:
            return Items(value, path, kind, frozen)
        return copy.deepcopy(value) if frozen else value
    return value


def _completed(value: Any, kind: type[Section] | None, path: str) -> Any:
    """A value as it is kept: sections with their defaults, hours as text, as in the JSON form."""
    if _is_by_hour(path) and isinstance(value, dict):
        texts = {str(hour): number for hour, number in value.items()}
        return texts if len(texts) == len(value) else value  # 4 and "4": left for the check to refuse
    if kind is None:
        return value
    if isinstance(value, dict):
        return kind._complete(value, path)
    if isinstance(value, list) and all(isinstance(item, dict) for item in value):
        return [kind._complete(item, f"{path}[{i}]") for i, item in enumerate(value)]
    return value
