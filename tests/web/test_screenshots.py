"""The pictures in README.md are there, small, of the pages that they claim to show."""

from __future__ import annotations

import importlib.util
import re
import struct
import sys
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from conftest import Site

ROOT = Path(__file__).parents[2]
_MOST_BYTES = 150_000
_PALETTE = 3  # colour type of the PNG specification, 11.2.1: indexed-colour


@pytest.fixture(scope="module")
def screenshots() -> ModuleType:
    spec = importlib.util.spec_from_file_location("screenshots", Path(__file__).with_name("screenshots.py"))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["screenshots"] = module  # a dataclass looks its module up
    spec.loader.exec_module(module)
    return module


def test_the_readme_shows_every_picture_in_words_too(screenshots: ModuleType) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[([^\]]+)\]\(notebooks/pictures/([^)]+)\)", text)
    assert [name for _, name in shown] == [scene.name for scene in screenshots.SCENES]
    assert all(len(words) > 40 for words, _ in shown), "who cannot see a picture reads what is in it"


def test_pictures_are_small_and_of_few_colours(screenshots: ModuleType) -> None:
    for scene in screenshots.SCENES:
        content = (screenshots.PICTURES / scene.name).read_bytes()
        assert len(content) < _MOST_BYTES, scene.name
        assert content.startswith(b"\x89PNG\r\n\x1a\n")
        width, _, depth, colour_type = struct.unpack(">IIBB", content[16:26])
        assert (width, depth, colour_type) == (screenshots.WIDTH, 8, _PALETTE)


def test_the_scenes_are_pages_with_an_answer(screenshots: ModuleType, site: Site) -> None:
    screenshots.furnish(site.place)
    for scene in screenshots.SCENES:
        page = site.get(scene.path)
        assert page.status_code == 200
        assert 'role="alert"' not in page.text
    plan = site.get(screenshots.SCENES[1].path).text
    assert plan.count("<figure>") >= 5
    assert "tide tables of 1987" in plan


def test_pictures_stay_out_of_the_wheel() -> None:
    assert not [path for path in (ROOT / "matref").rglob("*") if path.suffix in (".png", ".jpg", ".webp")]
