"""Seal the data: write size, hash and row count of every table into `datapackage.json`.

Run `python -m matref.catalogue.seal` after every change of a file in `data/`; the tests fail until it is done.
"""

from __future__ import annotations

import csv
import json
import sys
from pathlib import Path

from matref.catalogue.package import data_folder, fingerprint, read_descriptor
from matref.errors import MatrefError


def seal(folder: Path) -> list[str]:
    """Recompute the control totals of the package in `folder`; return the names of the tables that changed."""
    descriptor = read_descriptor(folder)
    changed = []
    for resource in descriptor["resources"]:
        path = folder / resource["path"]
        size, digest = fingerprint(path)
        totals = {"bytes": size, "hash": digest, "rows": _count_rows(path)}
        if any(resource.get(key) != value for key, value in totals.items()):
            resource.update(totals)
            changed.append(resource["name"])
    if changed:
        text = json.dumps(descriptor, indent=2, ensure_ascii=False) + "\n"
        (folder / "datapackage.json").write_text(text, encoding="utf-8", newline="\n")
    return changed


def _count_rows(path: Path) -> int:
    with path.open(encoding="utf-8", newline="") as file:
        return max(0, sum(1 for _ in csv.reader(file, strict=True)) - 1)


def main(arguments: list[str]) -> int:
    """Seal the folder named on the command line, else the data of this checkout."""
    folder = Path(arguments[0]) if arguments else data_folder()
    try:
        changed = seal(folder)
    except MatrefError as error:
        print(error, file=sys.stderr)
        return 2
    print("sealed: " + ", ".join(changed) if changed else "nothing changed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
