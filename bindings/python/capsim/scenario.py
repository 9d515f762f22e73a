# SPDX-License-Identifier: BSD-3-Clause
"""A scenario: everything that defines one eye, one operation and one follow-up, as plain values."""

from __future__ import annotations

import inspect
import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from . import _core, value_path
from .complete_values import HEADER, checked, default_at, normalised, text_of
from .errors import ScenarioError, Violation
from .plain_values import plain
from .scenario_sections import (
    Bag,
    BagTissue,
    Capsule,
    Contraction,
    Event,
    Lens,
    Mesh,
    Numerics,
    Opening,
    TensionRing,
    Zonule,
)
from .sides import side_of
from .value_access import Items, Part, Section, value

if TYPE_CHECKING:
    from .scenario_values import (
        BagTissueValues,
        BagValues,
        CapsuleValues,
        ContractionValues,
        EventValues,
        LensValues,
        MeshValues,
        Number,
        NumericsValues,
        OpeningValues,
        TensionRingValues,
        ZonuleValues,
    )


class Scenario(Section):
    """Everything that defines one eye, one operation and one follow-up.

    Every value has a default and carries its unit in its name. ``Scenario()`` is the default eye;
    keywords say what differs: ``Scenario(name="weak", zonule={"strength": 0.3})``.
    Values are read and set as attributes, ``scenario.opening.diameter_mm = 4.5``, and checked by
    `validate` and before every run. Keywords raise `ScenarioError` when they are not valid.

    >>> eye = capsim.Scenario(name="weak below", eye="left", zonule={"strength": 0.6, "strength_by_hour": {6: 0.0}})
    >>> eye.with_({"opening.diameter_mm": 5.5}).opening.diameter_mm
    5.5
    """

    __slots__ = ()
    name: str = value("Name of the scenario, shown with its results.")
    eye: str | None = value("right or left (OD, OS); None: not said, and no result speaks of nasal or temporal.")
    duration_days: float = value("Last day after surgery [day].")
    output_every_days: float = value("Time between two rows of the result [day].")
    bag: Part[Bag] = Part("The capsular bag.")
    opening: Part[Opening] = Part("The opening in the front leaf.")
    capsule: Part[Capsule] = Part("The capsule's material and thickness.")
    zonule: Part[Zonule] = Part("The zonule, hour by hour.")
    tension_ring: Part[TensionRing | None] = Part("The capsular tension ring; None: no ring.")
    lens: Part[Lens | None] = Part("The artificial lens; None: no lens.")
    contraction: Part[Contraction] = Part("The contraction law.")
    bag_tissue: Part[BagTissue] = Part("Fibrous tissue where the leaves fuse outside the optic.")
    events: Part[Items[Event]] = Part("What happens on certain days.")
    mesh: Part[Mesh] = Part("The finite-element mesh.")
    numerics: Part[Numerics] = Part("Tolerances and limits of the solution.")
    _parts = {
        "bag": Bag,
        "opening": Opening,
        "capsule": Capsule,
        "zonule": Zonule,
        "tension_ring": TensionRing,
        "lens": Lens,
        "contraction": Contraction,
        "bag_tissue": BagTissue,
        "events": Event,
        "mesh": Mesh,
        "numerics": Numerics,
    }

    if TYPE_CHECKING:

        def __init__(
            self,
            *,
            # from the library's list: signature
            name: str = "unnamed",
            eye: str | None = None,
            duration_days: Number = 365,
            output_every_days: Number = 7,
            bag: BagValues | Bag = {},  # noqa: B006
            opening: OpeningValues | Opening = {},  # noqa: B006
            capsule: CapsuleValues | Capsule = {},  # noqa: B006
            zonule: ZonuleValues | Zonule = {},  # noqa: B006
            tension_ring: TensionRingValues | TensionRing | None = None,
            lens: LensValues | Lens | None = {},  # noqa: B006
            contraction: ContractionValues | Contraction = {},  # noqa: B006
            bag_tissue: BagTissueValues | BagTissue = {},  # noqa: B006
            events: Sequence[EventValues | Event] = (),
            mesh: MeshValues | Mesh = {},  # noqa: B006
            numerics: NumericsValues | Numerics = {},  # noqa: B006
            # end of the list: signature
        ) -> None: ...

    else:

        def __init__(self, **sections: Any) -> None:
            super().__init__(checked({**HEADER, **sections}), "")

    @classmethod
    def from_dict(cls, values: Mapping[str, Any]) -> Scenario:
        """The scenario described by nested dicts with the keys of the JSON form.

        Raises `ScenarioError` with every violation at once.

        >>> capsim.Scenario.from_dict({**uncut.to_dict(), "duration_days": 30}).duration_days
        30
        """
        return cls._holding(checked(values))

    @classmethod
    def from_json(cls, path_or_text: str | os.PathLike[str]) -> Scenario:
        """The scenario in a JSON file, or in JSON text (anything that starts with a brace).

        Raises `ScenarioError` with every violation at once, and OSError for a file that can't be
        read.

        >>> capsim.Scenario.from_json(uncut.to_json()) == uncut
        True
        """
        if isinstance(path_or_text, str) and path_or_text.lstrip("\ufeff \t\r\n").startswith(("{", "[")):
            return cls._holding(normalised(path_or_text))
        return cls._holding(normalised(Path(path_or_text).read_bytes()))

    def to_json(self, indent: int = 2) -> str:
        """The JSON text, every field present; raises `ScenarioError` when it is not valid.

        >>> uncut.to_json().splitlines()[1]
        '  "format": "capsim-scenario",'
        """
        return self._native().to_json(indent)

    def validate(self) -> None:
        """Raises `ScenarioError` with every violation at once; does nothing when all is well.

        >>> large = uncut.copy()
        >>> large.opening.diameter_mm = 50
        >>> large.validate()
        Traceback (most recent call last):
        ...
        capsim.errors.ScenarioError: ...
        """
        if self._frozen:
            return  # it was run
        object.__setattr__(self, "_values", json.loads(self._native().to_json()))

    def copy(self) -> Scenario:
        """An independent copy.

        >>> other = uncut.copy()
        >>> other.zonule.strength = 0.4
        >>> uncut.zonule.strength
        1
        """
        return self._holding(self.to_dict())

    def with_(self, changes: Mapping[str, Any] | None = None, **fields: Any) -> Scenario:
        """A changed and checked copy.

        `changes` goes by dotted path, as in the violations: ``{"opening.diameter_mm": 4.5,
        "zonule.strength_by_hour.4": 0.2, "events[0].day": 60}``. Keywords are fields or sections,
        ``with_(name="b", lens=None, zonule={"strength": 0.5})``: what a section given as a dict does not name keeps
        its value. Values by hour and lists are replaced as a whole.
        Raises `ScenarioError` with every violation at once, and for a diameter that an outline or an ellipse of
        the opening would make have no effect.

        >>> uncut.with_({"opening.diameter_mm": 4.5}, name="smaller").opening.diameter_mm
        4.5
        """
        changes = {**(changes or {}), **fields}
        return self._holding(checked(changed(self._values, changes)))

    def mirrored(self) -> Scenario:
        """The eye seen in a mirror: a right eye becomes a left one, 3 o'clock becomes 9; what is nasal stays nasal.

        >>> weak = uncut.with_({"zonule.strength_by_hour.3": 0.2}).mirrored()
        >>> weak.eye, weak.zonule.strength_by_hour[9]
        ('left', 0.2)
        """
        return of_native(self._native().mirrored())

    def value_at(self, path: str) -> Any:
        """The value at a dotted path, ``scenario.value_at("opening.diameter_mm")``; ScenarioError when there is none.

        >>> scenario.value_at("events[0].relaxing_cuts.length_mm")
        0.5
        """
        return value_path.get(self._values, path)

    def differences(self, other: Scenario | None = None) -> dict[str, Any]:
        """What differs from another scenario (None: from the default eye), by dotted path.

        >>> uncut.with_({"zonule.strength": 0.4}).differences(uncut)
        {'zonule.strength': 0.4}
        """
        return value_path.differences(default_at("") if other is None else other._values, self._values)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Scenario) and self._values == other._values

    __hash__ = None  # type: ignore[assignment]

    def __copy__(self) -> Scenario:
        return self.copy()

    def __deepcopy__(self, memo: dict[int, Any]) -> Scenario:
        return self.copy()

    def __reduce__(self) -> tuple[Any, ...]:
        return _holding, (self.to_dict(),)

    def __repr__(self) -> str:
        """Python text that gives an equal scenario; what is as in the default eye is left out."""
        return f"Scenario({', '.join(f'{name}={item!r}' for name, item in self._unusual())})"

    def _set(self, name: str, value: Any) -> None:
        if name == "eye" and isinstance(value, str):
            value = side_of(value) or value
        super()._set(name, value)

    def _unusual(self) -> list[tuple[str, Any]]:
        """The fields that differ from the default eye, inside them the values that do."""
        usual = default_at("")
        fields = []
        for name, item in self._values.items():
            if name in HEADER or item == usual.get(name):
                continue
            place = self._parts[name]._place if name in self._parts else None
            if place is not None and isinstance(item, dict):
                part = default_at(place)
                item = {key: inner for key, inner in item.items() if key not in part or inner != part[key]}
            fields.append((name, item))
        return fields

    def _repr_html_(self) -> str:
        from .scenario_card import scenario_html

        return scenario_html(self)

    def _native(self) -> _core.Scenario:
        return _core.Scenario.from_json(text_of(self._values))

    @classmethod
    def _holding(cls, values: dict[str, Any], frozen: bool = False) -> Scenario:
        scenario = cls.__new__(cls)
        Section.__init__(scenario, values, "", frozen)
        return scenario


def _signature() -> inspect.Signature:
    """The constructor's, for help and completion: every field and section with its default."""
    named = inspect.Parameter.KEYWORD_ONLY
    usual = default_at("")
    return inspect.Signature([inspect.Parameter(name, named, default=usual[name]) for name in Scenario.names()])


Scenario.__signature__ = _signature()  # type: ignore[attr-defined]


def _holding(values: dict[str, Any]) -> Scenario:
    """Restores a pickled scenario, valid or not."""
    return Scenario._holding(values)


def changed(values: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of the nested values with those at the dotted paths replaced, not checked.

    Raises `ScenarioError` with every path that leads nowhere, or to a value that would have no effect.
    """
    result: dict[str, Any] = _copied(values)
    violations: list[Violation] = []
    for path, item in changes.items():
        try:
            value_path.put(result, path, plain(item))
        except ScenarioError as error:
            violations += error.violations
    violations += _without_effect(result, changes)
    if violations:
        raise ScenarioError(violations)
    return result


# The forms of an opening: each counts only where none of the later ones is stated.
_FORMS_OF_OPENING = ("diameter_mm", "diameters_mm", "outline_mm")


def _without_effect(result: Mapping[str, Any], changes: Mapping[str, Any]) -> list[Violation]:
    """Changes of the opening that another form of it, stated before, would hide."""
    prefix = "opening."
    touched = {path[len(prefix) :].split(".")[0].split("[")[0] for path in changes if path.startswith(prefix)}
    if isinstance(changes.get("opening"), Mapping):
        touched |= set(changes["opening"])
    found = []
    for i, form in enumerate(_FORMS_OF_OPENING if touched else ()):
        hiding = next((later for later in _FORMS_OF_OPENING[i + 1 :] if result["opening"].get(later)), None)
        if form in touched and hiding is not None and hiding not in touched and result["opening"].get(form):
            limit, hint = f"without opening.{hiding}, which comes first", f"set opening.{hiding} to None as well"
            text = f"opening.{form}: has no effect beside opening.{hiding}; {hint}"
            found.append(Violation(f"opening.{form}", "", limit, hint, text))
    return found


def _copied(item: Any) -> Any:
    """A copy of nested plain values, several times as fast as `copy.deepcopy`: sweeps make one for every run."""
    if isinstance(item, dict):
        return {key: _copied(inner) for key, inner in item.items()}
    return [_copied(inner) for inner in item] if isinstance(item, list) else item


def native(scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str]) -> _core.Scenario:
    """The compiled scenario of a Scenario, a dict, a path or JSON text; checked."""
    return (
        _core.Scenario.from_json(text_of(scenario))
        if isinstance(scenario, Mapping)
        else any_scenario(scenario)._native()
    )


def any_scenario(scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str]) -> Scenario:
    """The scenario in whichever form it is given: a Scenario, a dict, a path or JSON text."""
    if isinstance(scenario, Scenario):
        return scenario
    return Scenario.from_dict(scenario) if isinstance(scenario, Mapping) else Scenario.from_json(scenario)


def of_native(scenario: _core.Scenario, frozen: bool = False) -> Scenario:
    """The Python scenario of a compiled one; a frozen one can't be changed."""
    return Scenario._holding(json.loads(scenario.to_json()), frozen)
