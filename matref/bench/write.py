"""Files that are never half-written: a new file beside the old one, then one rename."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from matref.errors import FileTrouble

Place = str | os.PathLike[str] | BinaryIO


def write_whole(content: bytes, place: Place) -> None:
    """Write bytes to a path or an open binary stream; a file is there as a whole or stays as it was.

    FileTrouble, in one line, where it cannot be written.
    """
    if not isinstance(place, str | os.PathLike):
        place.write(content)
        return
    target = Path(place).expanduser()
    if target.is_dir():
        raise FileTrouble(
            f"{target} is a folder", expected="a name for the file in it", example=str(target / "sheet.pdf")
        )
    part = ""
    try:
        handle, part = tempfile.mkstemp(prefix=f".{target.name[:40]}.", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(part).chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~mask)
        Path(part).replace(target)
    except OSError as error:
        raise FileTrouble(
            f"{target} cannot be written: {error.strerror or error}",
            expected="a name in a folder that can be written to",
        ) from error
    finally:
        if part:
            with suppress(OSError):
                Path(part).unlink(missing_ok=True)
