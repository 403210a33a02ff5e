"""What the benchmarks ran on, and which data and code: nothing that names the machine, its owner or a folder."""

from __future__ import annotations

import os
import platform
import sqlite3
from datetime import date
from importlib.metadata import version
from pathlib import Path

from matref.catalogue.package import edition


def described() -> dict[str, str]:
    """Return what was used, by its name."""
    return {
        "date": date.today().isoformat(),
        "processor": f"{_processor()}, {os.cpu_count()} cores seen by the system",
        "memory": _memory(),
        "system": f"{_system()}, {platform.machine()}",
        "Python": platform.python_version(),
        "SQLite": sqlite3.sqlite_version,
        "data": f"edition {edition()}",
        "code": f"matref {version('matref')}",
        "other work": _other_work(),
    }


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    return next((line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")), platform.machine())


def _memory() -> str:
    try:
        return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 2**30:.0f} GiB"
    except (AttributeError, OSError, ValueError):  # only POSIX systems say
        return "not known"


def _system() -> str:
    try:
        return platform.freedesktop_os_release()["PRETTY_NAME"]
    except (OSError, KeyError):
        return f"{platform.system()} {platform.release()}"


def _other_work() -> str:
    try:
        return f"{os.getloadavg()[0]:.1f} programs busy on average in the minute before the run"
    except (AttributeError, OSError):  # only POSIX systems say
        return "not known"
