# SPDX-License-Identifier: BSD-3-Clause
"""A sweep on a cluster: a scheduler and two workers, each a process of its own, on the loopback address."""

import importlib.util
import os
import socket
import subprocess
import sys
import time

import capsim
import pytest

pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
distributed = pytest.importorskip(
    "distributed", reason="dask.distributed is not installed: sweeps on a cluster were not tried"
)
PATIENCE_S = 60


def command(part):
    """How that part is started from a shell; its name depends on the version."""
    if importlib.util.find_spec(f"distributed.cli.dask_{part}"):
        return [sys.executable, "-m", f"distributed.cli.dask_{part}"]
    return [sys.executable, "-m", "dask", part]


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dask")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    quiet = {
        "stdout": subprocess.DEVNULL,
        "stderr": subprocess.DEVNULL,
        "cwd": folder,
        "env": {**os.environ, "DASK_DISTRIBUTED__WORKER__DAEMON": "False"},
    }
    started = [
        subprocess.Popen([*command("scheduler"), "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"], **quiet)
    ]
    try:
        for number in (1, 2):
            started.append(
                subprocess.Popen(
                    [
                        *command("worker"),
                        address,
                        "--nthreads",
                        "1",
                        "--name",
                        f"worker-{number}",
                        "--no-dashboard",
                        "--no-nanny",
                        "--memory-limit",
                        "0",
                    ],
                    **quiet,
                )
            )
        with distributed.Client(address, timeout=PATIENCE_S) as client:
            client.wait_for_workers(2, timeout=PATIENCE_S)
            yield client
    finally:
        for process in reversed(started):
            process.terminate()
        for process in started:
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def test_sweep_on_two_workers_gives_the_same_bits(client, tmp_path):
    xarray = pytest.importorskip("xarray")
    base = capsim.Scenario(name="invented eye, tiny", duration_days=60, mesh={"around": 12, "radial": 2})
    axes = {"opening.diameter_mm": [4.0 + 0.1 * k for k in range(10)], "zonule.strength": [0.3, 0.6, 1.0]}
    alone = capsim.sweep(base, axes, series=["opening_area_mm2"], path=tmp_path / "alone.nc")
    before = busy_tasks(client)
    together = capsim.sweep(base, axes, series=["opening_area_mm2"], client=client, path=tmp_path / "together.nc")
    xarray.testing.assert_identical(together, alone)
    assert (tmp_path / "together.nc").read_bytes() == (tmp_path / "alone.nc").read_bytes()
    after = busy_tasks(client)
    assert len(after) == 2
    assert all(after[worker] > before.get(worker, 0) for worker in after)  # both did some of it


def busy_tasks(client):
    """Tasks done so far by each worker."""
    time.sleep(0.1)
    return client.run(lambda dask_worker: dask_worker.state.executed_count)
