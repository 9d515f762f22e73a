# SPDX-License-Identifier: BSD-3-Clause
"""A planner in Python that loads the C library by itself, with ctypes: how large should the opening be?

    python3 planner.py <prefix>/lib/libcapsim_c.so

It needs neither NumPy nor the Python package capsim; any language that can call C can do the same.
An eye with few cells left and a weak zonule is run with openings of several sizes, each with the band of
eyes like it; then one run is cancelled from the progress callback. The eye is invented, and so are its numbers.
For research and teaching, not for treating a patient.
"""

import ctypes
import math
import sys
from ctypes import POINTER, byref, c_char_p, c_double, c_int32, c_size_t, c_uint64, c_void_p

OK, NOT_COMPLETED, INVALID_SCENARIO = 0, 1, -7
CONTINUE, CANCEL = 0, 1


class Progress(ctypes.Structure):
    _fields_ = [
        ("struct_size", c_size_t),
        ("day", c_double),
        ("duration_days", c_double),
        ("opening_area_mm2", c_double),
    ]


ProgressCallback = ctypes.CFUNCTYPE(c_int32, POINTER(Progress), c_void_p)


class RunOptions(ctypes.Structure):
    _fields_ = [("struct_size", c_size_t), ("progress", ProgressCallback), ("user", c_void_p)]


def open_library(path: str) -> ctypes.CDLL:
    """The library with the types of the functions that this program uses."""
    c = ctypes.CDLL(path)
    handle, size_p = c_void_p, POINTER(c_size_t)
    for name, result, arguments in [
        ("c_api", c_int32, []),
        ("version", c_char_p, []),
        ("research_caution", c_char_p, []),
        ("status_text", c_char_p, [c_int32]),
        ("scenario_create", handle, []),
        ("scenario_destroy", None, [handle]),
        ("scenario_read_json", c_int32, [handle, c_char_p, c_size_t]),
        ("scenario_set_number", c_int32, [handle, c_char_p, c_double]),
        ("scenario_check", c_int32, [handle]),
        ("scenario_violation_count", c_size_t, [handle]),
        ("scenario_violation", c_int32, [handle, c_size_t, c_int32, c_char_p, c_size_t, size_p]),
        ("history_create", handle, []),
        ("history_destroy", None, [handle]),
        ("history_error", c_int32, [handle, c_char_p, c_size_t, size_p]),
        ("history_values", c_int32, [handle, c_char_p, POINTER(c_double), c_size_t, size_p]),
        ("history_outcome_value", c_int32, [handle, c_char_p, POINTER(c_double)]),
        ("history_caution_count", c_size_t, [handle]),
        ("history_caution", c_int32, [handle, c_size_t, c_char_p, c_size_t, size_p]),
        ("simulate", c_int32, [handle, POINTER(RunOptions), handle]),
        ("population_name", c_char_p, [c_size_t]),
        ("population_create", handle, []),
        ("population_destroy", None, [handle]),
        ("population_find", c_int32, [handle, c_char_p]),
        ("population_around", c_int32, [handle, handle, c_uint64, handle]),
        ("batch", c_int32, [POINTER(handle), POINTER(handle), c_void_p, c_size_t, c_void_p, c_void_p, c_void_p]),
        ("quantile", c_int32, [POINTER(c_double), c_size_t, c_double, POINTER(c_double)]),
    ]:
        function = getattr(c, "capsim_" + name)
        function.restype, function.argtypes = result, arguments
        setattr(c, name, function)
    if c.c_api() != 1:
        sys.exit(f"{path} has interface {c.c_api()}; this program was written for 1")
    return c


def text_of(function, *arguments) -> str:
    """Asks for the size, then fetches the text."""
    size = c_size_t()
    function(*arguments, None, 0, byref(size))
    buffer = ctypes.create_string_buffer(size.value)
    function(*arguments, buffer, size, None)
    return buffer.value.decode()


def numbers_of(function, *arguments) -> list:
    size = c_size_t()
    if function(*arguments, None, 0, byref(size)) != OK:
        sys.exit(f"nothing of the name {arguments[-1].decode()}")
    buffer = (c_double * size.value)()
    function(*arguments, buffer, size, None)
    return list(buffer)


class Planner:
    """One scenario and one history, destroyed when done."""

    def __init__(self, c: ctypes.CDLL, json: bytes):
        self.c, self.scenario, self.history = c, c.scenario_create(), c.history_create()
        if c.scenario_read_json(self.scenario, json, len(json)) != OK:
            sys.exit("the scenario can't be read:\n" + "\n".join(self.violations()))

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.c.scenario_destroy(self.scenario)
        self.c.history_destroy(self.history)

    def violations(self) -> list:
        line = 4  # CAPSIM_VIOLATION_LINE
        return [
            text_of(self.c.scenario_violation, self.scenario, k, line)
            for k in range(self.c.scenario_violation_count(self.scenario))
        ]

    def set(self, path: str, value: float) -> None:
        status = self.c.scenario_set_number(self.scenario, path.encode(), value)
        if status != OK:
            sys.exit("; ".join(self.violations()))

    def run(self, progress=None) -> int:
        """`progress(day, duration)` returns False to cancel."""

        def told(now, _user):
            return CONTINUE if progress(now.contents.day, now.contents.duration_days) else CANCEL

        options = RunOptions(
            ctypes.sizeof(RunOptions), ProgressCallback(told) if progress else ProgressCallback(), None
        )
        status = self.c.simulate(self.scenario, byref(options), self.history)
        if status < OK:
            sys.exit(text_of(self.c.history_error, self.history))
        return status

    def band(self, population, eyes: int) -> list:
        """The loss that a tenth, half and nine tenths of eyes like this one stay below [%]."""
        c = self.c
        scenarios = (c_void_p * eyes)(*(c.scenario_create() for _ in range(eyes)))
        histories = (c_void_p * eyes)(*(c.history_create() for _ in range(eyes)))
        losses = (c_double * eyes)()
        for index in range(eyes):
            c.population_around(population, self.scenario, index, scenarios[index])
        if c.batch(scenarios, histories, None, eyes, None, None, None) < OK:
            sys.exit("an eye of the population could not be run")
        for index in range(eyes):
            loss = c_double(math.nan)  # of a run that ended early; quantiles pass over it
            c.history_outcome_value(histories[index], b"area_loss_percent", byref(loss))
            losses[index] = loss.value
            c.scenario_destroy(scenarios[index])
            c.history_destroy(histories[index])
        found = []
        for share in (0.1, 0.5, 0.9):
            value = c_double()
            c.quantile(losses, eyes, share, byref(value))
            found.append(value.value)
        return found

    def series(self, name: str) -> list:
        return numbers_of(self.c.history_values, self.history, name.encode())

    def outcome(self, name: str) -> float:
        value = c_double()
        if self.c.history_outcome_value(self.history, name.encode(), byref(value)) != OK:
            sys.exit(f"there is no outcome {name}")
        return value.value


EYE = b"""{"format": "capsim-scenario", "version": 1, "name": "invented", "duration_days": 90,
  "output_every_days": 30, "zonule": {"strength": 0.3}, "contraction": {"chronic_signal": 0.2},
  "mesh": {"level": "coarse"}}"""


EYE_OF_EVERY_LANGUAGE = b"""{"format": "capsim-scenario", "version": 1, "name": "invented", "duration_days": 40,
  "output_every_days": 20, "mesh": {"level": "coarse"}}"""


def print_digits(path: str) -> None:
    """One number that every language must give alike."""
    with Planner(open_library(path), EYE_OF_EVERY_LANGUAGE) as planner:
        if planner.run() != OK:
            sys.exit("the run ended early")
        print(f"{planner.outcome('opening_area_mm2'):.17g}")


def main(path: str) -> None:
    c = open_library(path)
    print(f"capsim {c.version().decode()}\n{c.research_caution().decode()}\n")
    with Planner(c, EYE) as planner:
        planner.set("opening.diameter_mm", -5)
        if c.scenario_check(planner.scenario) != INVALID_SCENARIO:
            sys.exit("wrong input was accepted")
        print("refused:", *planner.violations(), sep="\n  ")

        population = c.population_create()
        if c.population_find(population, c.population_name(0)) != OK:
            sys.exit("the library has no population")
        print(
            f"\nlost [%]: this eye, and the band (10, 50, 90 of 100) of eyes like it in {c.population_name(0).decode()}"
        )
        print("opening at surgery [mm]   area on days 0, 30, 60, 90 [mm2]       lost        band")
        for diameter in (4.5, 5.0, 5.5):
            planner.set("opening.diameter_mm", diameter)
            if planner.run() != OK:
                sys.exit("the run ended early: " + text_of(c.history_error, planner.history))
            areas = "  ".join(f"{area:7.2f}" for area in planner.series("opening_area_mm2"))
            low, median, high = planner.band(population, 8)
            if not low < median < high:
                sys.exit("the band has no width")
            loss = planner.outcome("area_loss_percent")
            print(f"{diameter:10.1f}                {areas}   {loss:8.2f}   {low:6.2f} {median:6.2f} {high:6.2f}")
        c.population_destroy(population)

        status = planner.run(lambda day, duration: day < duration / 2)
        if status != NOT_COMPLETED or planner.series("day")[-1] >= 90:
            sys.exit("cancelling did not work")
        print(f"\ncancelled half way, on day {planner.series('day')[-1]:.1f}")
        for k in range(c.history_caution_count(planner.history)):
            print(text_of(c.history_caution, planner.history, k))


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[2] == "--digits":
        print_digits(sys.argv[1])
    elif len(sys.argv) == 2:
        main(sys.argv[1])
    else:
        sys.exit(__doc__)
