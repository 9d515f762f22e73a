# SPDX-License-Identifier: BSD-3-Clause
"""Running a scenario from Python: progress, cancelling, Ctrl-C, threads."""

import threading

import capsim
import pytest

# Half a second is what a person notices after Ctrl-C; four times that where others use the cores.
LONGEST_WAIT_AFTER_INTERRUPT_S = 2.0
# Only so that a hanging test ends.
PATIENCE_S = 120

# A script in which a second thread interrupts the endless run of the first; `first` is its work before that.
INTERRUPTED = """
import os, signal, sys, threading, time, capsim
sys.path.insert(0, {folder!r})
from conftest import ENDLESS, SMALL
running = threading.Event()
def interrupt():
    {first}
    at.append(time.monotonic())
    os.kill(os.getpid(), signal.SIGINT)
at = []
threading.Thread(target=interrupt, daemon=True).start()
try:
    capsim.simulate(ENDLESS{arguments})
except KeyboardInterrupt:
    print(time.monotonic() - at[0])
else:
    print("not interrupted")
"""


def interrupted(request, python, first, arguments=""):
    script = INTERRUPTED.format(folder=str(request.path.parent), first=first, arguments=arguments)
    return float(python(script, timeout=PATIENCE_S))


def test_scenario_dict_and_path_run_alike(small, scenario_file, history):
    for scenario in (small, capsim.Scenario.from_dict(small), scenario_file, str(scenario_file)):
        again = capsim.simulate(scenario)
        assert again.status == "completed"
        assert (again.opening_area_mm2 == history.opening_area_mm2).all()


def test_scenario_is_not_changed_by_its_run(small):
    scenario = capsim.Scenario.from_dict(small)
    history = capsim.simulate(scenario)
    assert history.scenario == capsim.Scenario.from_dict(small) == scenario
    with pytest.raises(AttributeError, match="copy"):
        history.scenario.zonule.strength = 0.5
    assert history.scenario == scenario


def test_wrong_scenario_is_refused_before_any_work(small):
    small["duration_days"] = -1
    calls = []
    with pytest.raises(capsim.ScenarioError):
        capsim.simulate(small, progress=calls.append)
    assert calls == []


def test_what_is_not_a_scenario_is_a_type_error():
    for wrong in (None, 3, [1]):
        with pytest.raises(TypeError):
            capsim.simulate(wrong)


def test_progress_is_told_the_days_in_order(small):
    seen = []
    history = capsim.simulate(small, progress=seen.append)  # append returns None: the run goes on
    assert history.status == "completed"
    days = [progress.day for progress in seen]
    assert len(days) >= 2
    assert days == sorted(days)
    assert all(progress.duration_days == 60 for progress in seen)
    assert all(progress.opening_area_mm2 > 0 for progress in seen)
    assert all(0 <= progress.fraction <= 1 for progress in seen)
    assert seen[-1].day <= 60


def test_progress_does_not_change_the_result(small, history):
    watched = capsim.simulate(small, progress=lambda progress: True)
    assert (watched.opening_area_mm2 == history.opening_area_mm2).all()


def test_false_from_progress_cancels_and_keeps_the_days_so_far(small):
    seen = []

    def stop_at_third(progress):
        seen.append(progress.day)
        return len(seen) < 3

    history = capsim.simulate(small, progress=stop_at_third)
    assert history.status == "cancelled"
    assert len(seen) == 3
    assert len(history) >= 1
    assert history.day[0] == 0
    assert history.day[-1] < 60
    with pytest.raises(capsim.SolveError) as error:
        history.raise_if_failed()
    assert error.value.status == "cancelled"
    assert error.value.history is history


def test_exception_in_progress_ends_the_run_and_is_raised(small):
    class Unique(Exception):
        pass

    def fail(progress):
        raise Unique("from the callback")

    with pytest.raises(Unique, match="from the callback"):
        capsim.simulate(small, progress=fail)


def test_simulate_inside_progress_is_possible(small):
    inner = []

    def run_another(progress):
        if not inner:
            inner.append(capsim.simulate(small))

    outer = capsim.simulate(small, progress=run_another)
    assert (outer.opening_area_mm2 == inner[0].opening_area_mm2).all()


def test_interrupt_stops_a_run_soon(request, python):
    wait = interrupted(request, python, "time.sleep(1.0)")
    assert 0 <= wait < LONGEST_WAIT_AFTER_INTERRUPT_S


def test_interrupt_stops_a_run_with_progress_soon(request, python):
    wait = interrupted(request, python, "running.wait()", ", progress=lambda progress: running.set()")
    assert 0 <= wait < LONGEST_WAIT_AFTER_INTERRUPT_S


def test_other_threads_run_while_a_run_goes_on(request, python):
    # The second thread gets to interrupt the endless run only if it can finish a whole run of its own meanwhile.
    interrupted(request, python, "time.sleep(0.2); assert capsim.simulate(SMALL).status == 'completed'")


def test_runs_in_threads_agree_with_a_run_alone(small, history):
    results = [None] * 3

    def run(index):
        results[index] = capsim.simulate(small)

    threads = [threading.Thread(target=run, args=(index,)) for index in range(len(results))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE_S)
    for result in results:
        assert (result.opening_area_mm2 == history.opening_area_mm2).all()
        assert (result.array("rim_outline_mm") == history.array("rim_outline_mm")).all()
