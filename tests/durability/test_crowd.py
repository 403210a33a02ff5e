"""Several people at one file: nobody waits in vain, nothing is lost, readers see one state."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from durability.crowd import WRITERS
from durability.scale import times, told
from durability.soundness import assert_nothing_half_counted, assert_sound

EACH = times(100, 500)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
def test_eight_writers_a_served_page_and_a_long_reader(place: Path, tmp_path: Path) -> None:
    folder = tmp_path / "said"
    folder.mkdir()
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(Path(__file__).parents[1]), *sys.path])}
    command = [sys.executable, "-m", "durability.crowd", str(folder), str(place), str(EACH)]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["complaints"] == {}
    assert set(found["codes"].values()) == {0}
    assert found["acknowledged"] == found["kept"] == found["labels"] == WRITERS * EACH
    assert min(found["looks"].values()) > 0
    assert len(assert_sound(place)) == WRITERS * EACH
    assert_nothing_half_counted(place)
    told(f"{WRITERS} writers x {EACH}: {found['kept']} kept, looks {found['looks']}")
