"""Load on a server: so many connections that ask one address after another for a bounded time.

`wrk` where it is installed, else threads of this process; the table says which.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from http.client import HTTPConnection
from itertools import count
from pathlib import Path

CONNECTIONS = 16
_WRK = shutil.which("wrk")
PROGRAM = "wrk" if _WRK else "threads of the benchmark itself (wrk is not installed)"
_PATIENCE_S = 30
_SCRIPT = """
local paths, i = {{}}, 0
for line in io.lines("{paths}") do paths[#paths + 1] = line end
request = function() i = i % #paths + 1 return wrk.format("GET", paths[i]) end
done = function(summary, latency)
  local e = summary.errors
  print(string.format('{{"answers": %d, "seconds": %f, "p50": %f, "p95": %f, "failed": %d}}', summary.requests,
    summary.duration / 1e6, latency:percentile(50) / 1e6, latency:percentile(95) / 1e6,
    e.connect + e.read + e.write + e.status + e.timeout))
end
"""


@dataclass(frozen=True, slots=True)
class Load:
    """How a server answered: answers per second, and the time within which half and 95 % of them came (s)."""

    per_second: float
    p50_s: float
    p95_s: float


def press(port: int, paths: Sequence[str], seconds: float) -> Load:
    """Ask the server on this machine for `paths` in turn, over and over, and return how it answered.

    RuntimeError where any answer was not good, so that no refusal passes for a quick answer.
    """
    return _by_wrk(port, paths, seconds) if _WRK else _by_threads(port, paths, seconds)


def _by_wrk(port: int, paths: Sequence[str], seconds: float) -> Load:
    with tempfile.TemporaryDirectory() as folder:
        lines, script = Path(folder) / "paths", Path(folder) / "mixed.lua"
        lines.write_text("\n".join(paths) + "\n", encoding="utf-8")
        script.write_text(_SCRIPT.format(paths=lines.as_posix()), encoding="utf-8")
        options = ["-t1", f"-c{CONNECTIONS}", f"-d{seconds:.0f}s", "--timeout", f"{_PATIENCE_S}s", "-s", str(script)]
        said = subprocess.run(
            [str(_WRK), *options, f"http://127.0.0.1:{port}"], check=True, capture_output=True, text=True
        )
    found = json.loads(said.stdout.splitlines()[-1])
    if found["failed"] or not found["answers"]:
        raise RuntimeError(f"{found['failed']} of {found['answers']} answers were not good: {paths[0]}")
    return Load(found["answers"] / found["seconds"], found["p50"], found["p95"])


def _by_threads(port: int, paths: Sequence[str], seconds: float) -> Load:
    number = count()
    began = time.perf_counter()

    def ask(_: int) -> list[float]:
        times = []
        with closing(HTTPConnection("127.0.0.1", port, timeout=_PATIENCE_S)) as connection:
            while time.perf_counter() < began + seconds:
                asked, path = time.perf_counter(), paths[next(number) % len(paths)]
                connection.request("GET", path)
                with connection.getresponse() as answer:
                    answer.read()
                if answer.status != 200:
                    raise RuntimeError(f"status {answer.status}: {path}")
                times.append(time.perf_counter() - asked)
        return times

    with ThreadPoolExecutor(CONNECTIONS) as pool:
        times = sorted(one for found in pool.map(ask, range(CONNECTIONS)) for one in found)
    took = time.perf_counter() - began
    return Load(len(times) / took, times[len(times) // 2], times[int(0.95 * len(times))])
