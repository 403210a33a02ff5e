"""Processes that are killed (SIGKILL) at random moments lose nothing acknowledged and leave nothing by halves."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from durability.jobs import JOBS
from durability.scale import LONG, times, told

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")

KILLS = {
    "sample import": times(8, 60),
    "web post": times(30, 300),
    "finished add": times(30, 400),
    "catalogue upgrade": times(4, 60),
    "layout upgrade": times(40, 400),
    "backup": times(40, 400),
    "sample add": times(150, 1500),
}
SEED = os.environ.get("MATREF_SEED", "2" if LONG else "1")


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory, compiled: Path) -> dict[str, subprocess.CompletedProcess[str]]:
    """All jobs, as many at a time as there are processors."""

    def run(job: str) -> subprocess.CompletedProcess[str]:
        folder = tmp_path_factory.mktemp("crash")
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(Path(__file__).parents[1]), *sys.path])}
        command = [sys.executable, "-m", "durability.jobs", job, str(KILLS[job]), SEED, str(folder), str(compiled)]
        return subprocess.run(command, capture_output=True, text=True, env=environment, check=False)

    with ThreadPoolExecutor(os.cpu_count() or 1) as several:
        return dict(zip(KILLS, several.map(run, KILLS), strict=True))


@pytest.mark.parametrize("job", KILLS)
def test_a_killed_process_loses_nothing(outcomes: dict[str, subprocess.CompletedProcess[str]], job: str) -> None:
    done = outcomes[job]
    assert done.returncode == 0, done.stderr
    figures = json.loads(done.stdout)
    assert figures["kills"] == KILLS[job]
    told(f"{job}: {figures}")


def test_enough_are_killed() -> None:
    assert set(KILLS) == set(JOBS)
    assert sum(KILLS.values()) >= times(300, 3000)
