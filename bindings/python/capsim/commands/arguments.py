# SPDX-License-Identifier: BSD-3-Clause
"""Arguments that several commands take, and what they stand for."""

from __future__ import annotations

import argparse
import json
import os
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import ResultsFileError, ScenarioError
from ..history import History, load
from ..scenario import Scenario
from ..simulation import simulate
from .exit_codes import CommandError


def add_scenario(parser: argparse.ArgumentParser) -> None:
    """One scenario file, and changes to it."""
    parser.add_argument("scenario", help="scenario file (JSON)")
    add_changes(parser)


def add_changes(parser: argparse.ArgumentParser) -> None:
    """``--set opening.diameter_mm=4.5``"""
    parser.add_argument(
        "--set",
        dest="changes",
        metavar="PATH=VALUE",
        action="append",
        default=[],
        help="change a value, by its dotted path: --set opening.diameter_mm=4.5; may be repeated",
    )


def scenario_of(path: str, changes: list[str]) -> Scenario:
    """The scenario in a file, changed; CommandError with the file's name and every violation."""
    try:
        # So that a file name that looks like JSON text is still a file name.
        scenario = Scenario.from_json(path if os.path.isabs(path) else os.path.join(os.curdir, path))
        return scenario.with_(dict(_assigned(text, "--set") for text in changes)) if changes else scenario
    except ScenarioError as error:
        raise CommandError(f"{path}: {error}") from None


def history_of(path: str, changes: list[str]) -> History:
    """The run in a result file (.h5), or a run of the scenario in a file (.json)."""
    if Path(path).suffix.lower() in (".h5", ".hdf5"):
        if changes:
            raise CommandError(f"{path}: --set changes scenarios, not results")
        return load(path)
    return simulate(scenario_of(path, changes))


def values_of(text: str, option: str) -> tuple[str, list[Any]]:
    """``PATH=1,2,3`` or ``PATH=1:3:5`` (from, to, how many)."""
    path, values = _split(text, option)
    parts = values.split(":")
    if len(parts) == 3:
        try:
            first, last, count = float(parts[0]), float(parts[1]), int(parts[2])
        except ValueError:
            raise CommandError(f"{option} {text}: a range is FROM:TO:COUNT, such as 4:6:9") from None
        if count < 2:
            raise CommandError(f"{option} {text}: a range needs at least 2 values")
        return path, [float(value) for value in np.linspace(first, last, count)]
    try:
        listed = json.loads(f"[{values}]")
    except ValueError:
        listed = [_value(part.strip()) for part in values.split(",")]
    return path, listed


def pair_of(text: str, option: str) -> tuple[str, tuple[float, float]]:
    """``PATH=LOW,HIGH``"""
    path, values = _split(text, option)
    try:
        low, high = (float(part) for part in values.split(","))
    except ValueError:
        raise CommandError(f"{option} {text}: give PATH=LOW,HIGH") from None
    return path, (low, high)


def pair_of_name_and_number(text: str, option: str) -> tuple[str, float]:
    """``NAME=NUMBER``"""
    name, value = _split(text, option)
    try:
        return name, float(value)
    except ValueError:
        raise CommandError(f"{option} {text}: give NAME=NUMBER, such as clear_circle_diameter_mm=3") from None


def must_be_writable(path: str | None, inputs: list[str]) -> None:
    """Says so before the work, not after it, when the result could not be written."""
    if path is None:
        return
    folder = os.path.dirname(path) or os.curdir
    if not os.path.isdir(folder):
        raise ResultsFileError(f"can't write {path}: there is no folder {folder}")
    for given in inputs:
        if os.path.exists(path) and os.path.exists(given) and os.path.samefile(path, given):
            raise ResultsFileError(
                f"can't write {path}: it is {'the scenario' if given.endswith('.json') else 'read from'}"
            )
    if os.path.isdir(path):
        raise ResultsFileError(f"can't write {path}: it is a folder")
    if not os.access(folder, os.W_OK):
        raise ResultsFileError(f"can't write {path}: the folder {folder} is not writable")


def _assigned(text: str, option: str) -> tuple[str, Any]:
    path, value = _split(text, option)
    return path, _value(value)


def _split(text: str, option: str) -> tuple[str, str]:
    path, equals, value = text.partition("=")
    if not equals or not path.strip() or not value.strip():
        raise CommandError(f"{option} {text}: give PATH=VALUE, such as opening.diameter_mm=4.5")
    return path.strip(), value.strip()


def _value(text: str) -> Any:
    """JSON where it is JSON, else the text itself: 4.5, null, true, {"hours": [12]}, left."""
    try:
        return json.loads(text)
    except ValueError:
        return text
