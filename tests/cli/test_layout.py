"""layout: parts typed by hand, laid out, drawn, refused in one line."""

from __future__ import annotations

import itertools
import json
import os
import pty
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import Run, refused

from matref.cli.layout_input import part_of, piece_of
from matref.errors import BadInput

BOARD = ("--part", "board 156x104 x2 grain=length", "--stock", "greyboard 330x400 grain=length")


def test_json_lays_every_part_inside_the_stock_and_apart(run: Run) -> None:
    found = run("layout", *BOARD, "--json").json()
    (one,) = found["layouts"]
    assert found["proved"]
    assert found["missing"] == []
    assert [part["name"] for part in one["parts"]] == ["board", "board"]
    for part in one["parts"]:
        assert 0 <= part["x_mm"] <= 330 - part["length_mm"]
        assert 0 <= part["y_mm"] <= 400 - part["width_mm"]
        assert (part["length_mm"], part["width_mm"]) == (156, 104)  # the grain keeps it from turning
    a, b = one["parts"]
    assert a["x_mm"] + 156 <= b["x_mm"] or b["x_mm"] + 156 <= a["x_mm"] or abs(a["y_mm"] - b["y_mm"]) >= 104
    assert found["waste_share"] == pytest.approx(1 - 2 * 156 * 104 / (330 * 400))
    assert len(one["cut_list"]) == len(one["cuts"])


def test_text_tells_cuts_and_what_to_keep(run: Run) -> None:
    text = " ".join(run("layout", *BOARD).out.split())
    assert "no choice of pieces does with less" in text
    assert "1. The piece, 330 × 400 mm: measure" in text
    assert "worth keeping:" in text


def test_bolt(run: Run) -> None:
    """Three covers of 240 along the warp, 170 across, side by side on 1400: 240 mm."""
    found = run("layout", "--part", "cover 240x170 x3 grain=length", "--bolt-width", "1.4 m", "--json").json()
    assert (found["length_mm"], found["bound_mm"], found["proved"]) == (240, 240, True)


def test_blade_and_price(run: Run) -> None:
    """Two parts of 100 on 200 mm leave no room for a saw."""
    tight = run("layout", "--part", "a 100x50 x2", "--stock", "s 200x50", "--json").json()
    assert tight["missing"] == []
    sawn = run("layout", "--part", "a 100x50 x2", "--stock", "s 200x50", "--blade", "1", "--json").json()
    assert sawn["missing"] == [{"name": "a", "count": 1}]
    cheap = ("--stock", "dear 300x300 price=9", "--stock", "cheap 400x400 price=2", "--least", "cost", "--json")
    assert run("layout", "--part", "a 100x50", *cheap).json()["cost"] == 2


def test_files_are_written_and_named(run: Run, shop: Path) -> None:
    outcome = run("layout", *BOARD, "--pdf", "b.pdf", "--svg", "b.svg", "--page", "letter")
    assert outcome.out.endswith("Written: b.pdf\nWritten: b.svg\n")
    assert (shop.parent / "b.pdf").read_bytes().startswith(b"%PDF")
    assert (shop.parent / "b.svg").read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--part", "board 1560x104", "--stock", "card 700x1000"), ["larger than every piece", "short by 560 mm"]),
        (("--part", "b 690x104 grain=length", "--stock", "c 600x700 grain=length"), ["against the grain"]),
        (("--part", "b 690x104 grain=length", "--stock", "c 700x1000"), ["grain of the stock is unknown"]),
        (("--part", "b 9x90 grain=length grain=width", "--stock", "c 700x1000"), ["tells grain twice"]),
        (("--part", "b 90x104 grain=up", "--stock", "c 700x1000"), ["grain", "length, width, either"]),
        (("--part", "b 90x104 nap", "--stock", "c 700x1000"), ["nap"]),
        (("--part", "b 0x104", "--stock", "c 700x1000"), ["0 mm"]),
        (("--part", "b 90x-104", "--stock", "c 700x1000"), ["90x-104"]),
        (("--part", "b 90x104 x0", "--stock", "c 700x1000"), ["count"]),
        (("--part", "b 90x104", "--part", "b 80x80", "--stock", "c 700x1000"), ["twice"]),
        (("--part", "board", "--stock", "c 700x1000"), ["no name with a size"]),
        (("--part", "", "--stock", "c 700x1000"), ["no name with a size"]),
        (("--part", "b 90x104 price=3", "--stock", "c 700x1000"), ["price=3"]),
        (("--part", "b 90x104", "--stock", "c 700x1000 price=dear"), ["dear"]),
        (("--part", "b 90x104"), ["--stock or --bolt-width"]),
        (("--part", "b 90x104", "--stock", "c 700x1000", "--bolt-width", "900"), ["--stock or --bolt-width"]),
        (("--part", "b 90x104", "--stock", "c 700x1000", "--least", "cost"), ["price"]),
        (("--part", "b 90x104", "--stock", "c 700x1000", "--page", "A4"), ["--page without --pdf"]),
        (("--part", "b 90x104", "--stock", "c 700x1000", "--seconds", "0"), ["--seconds"]),
    ],
)
def test_bad_input_is_one_line_and_writes_nothing(
    run: Run, shop: Path, arguments: tuple[str, ...], words: list[str]
) -> None:
    pdf = () if "--page" in arguments else ("--pdf", "never.pdf", "--svg", "never.svg")
    refused(run("layout", *arguments, *pdf), *words)
    assert not list(shop.parent.glob("never.*"))


def test_two_files_of_one_name(run: Run) -> None:
    refused(run("layout", *BOARD, "--pdf", "x", "--svg", "./x"), "asked for twice")


@pytest.mark.parametrize(
    ("text", "name", "size"),
    [
        ("front board 2 156 x 104 mm", "front board 2", (156, 104)),
        ("cover 9 1/2 x 6 3/4 in", "cover", (241.3, 171.45)),
        ("cover 24x17cm", "cover", (240, 170)),
    ],
)
def test_names_and_sizes_as_typed(text: str, name: str, size: tuple[float, float]) -> None:
    part = part_of(text)
    assert part.name == name
    assert (part.length_mm, part.width_mm) == pytest.approx(size)
    assert (part.count, part.grain) == (1, "either")
    assert piece_of(text).grain == "unknown"


def test_what_is_not_understood() -> None:
    with pytest.raises(BadInput, match="not understood"):
        part_of("board 156x104 colour=blue")


def many() -> list[str]:
    """Many awkward parts, which keep the search busy for long."""
    sides = itertools.islice(((137 + 31 * n % 211, 89 + 47 * n % 173) for n in itertools.count()), 40)
    parts = [word for n, (a, b) in enumerate(sides) for word in ("--part", f"part {n} {a}x{b} x3")]
    return [*parts, "--stock", "sheet 997x701 x60 grain=either", "--stock", "half 701x503 x60 grain=either"]


def test_ctrl_c_leaves_the_best_found_and_progress_is_shown_on_a_terminal(tmp_path: Path) -> None:
    """On a terminal the search says how it goes; interrupted, the best layout is printed and drawn."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "matref", "layout", *many(), "--seconds", "60", "--json", "--svg", "best.svg"]
    environment = {**os.environ, "MATREF_DB": str(tmp_path / "m.db")}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=theirs, cwd=tmp_path, env=environment, text=True
    ) as process:
        shown = b""
        while b"best so far" not in shown:
            shown += os.read(ours, 1000)
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=50)
    os.close(theirs)
    os.close(ours)
    assert process.returncode == 0
    found = json.loads(out)
    assert found["missing"] == []
    assert found["bound"] <= found["area_mm2"]
    assert len(found["layouts"]) > 1
    assert (tmp_path / "best.svg").stat().st_size > 1000
