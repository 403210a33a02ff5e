"""Measuring what was drawn: rendered pages in millimetres, texts where they lie, numbers in a plan."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from typing import Any

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from pypdfium2 import raw

from matref.bench.drawing import Dimension, Dimensioned, Drawing
from matref.demo import DEMOS

MM = 72 / 25.4
BOOKS: dict[str, dict[str, Any]] = {
    "pamphlet": {"sections": 1, "page_width_mm": 105, "page_height_mm": 148, "sheets_per_section": 6},
    "soft-cover": {"sections": 7, "page_width_mm": 100, "page_height_mm": 150},
    "long-stitch": {"sections": 6, "page_width_mm": 100, "page_height_mm": 150},
    "link-stitch": {"sections": 8, "page_width_mm": 100, "page_height_mm": 150},
    "flat-back-case": {"sections": 10, "page_width_mm": 148, "page_height_mm": 210},
    "quarter-case": {"sections": 8, "page_width_mm": 100, "page_height_mm": 150},
    "rounded-case": {"sections": 14, "page_width_mm": 210, "page_height_mm": 297},
}
NAMES = (*DEMOS, *BOOKS)


class Rendered:
    """A PDF as a reader sees it."""

    def __init__(self, content: bytes) -> None:
        self.document = pypdfium2.PdfDocument(content)

    def sizes_mm(self) -> list[tuple[float, float]]:
        return [(page.get_width() / MM, page.get_height() / MM) for page in self.document]

    def dark(self, number: int, top_mm: float, bottom_mm: float, per_mm: float = 40.0) -> NDArray[np.bool_]:
        """Dark pixels of a band across a page, `per_mm` to the millimetre, rows from `top_mm` down."""
        page = self.document[number]
        below = page.get_height() - bottom_mm * MM
        picture = page.render(scale=per_mm / MM, crop=(0, below, 0, top_mm * MM), grayscale=True).to_numpy()
        return np.asarray(picture).reshape(picture.shape[0], -1) < 128

    def texts(self, number: int) -> list[tuple[str, tuple[float, float, float, float]]]:
        """Every string as it was set, with left, bottom, right, top of its ink in mm."""
        page = self.document[number]
        words = page.get_textpage()
        found = []
        for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            length = raw.FPDFTextObj_GetText(thing, words, None, 0)
            buffer = (ctypes.c_ushort * max(length, 2))()
            raw.FPDFTextObj_GetText(thing, words, buffer, length)
            text = bytes(buffer).decode("utf-16-le").rstrip("\0")
            left, bottom, right, top = thing.get_bounds()
            found.append((text, (left / MM, bottom / MM, right / MM, top / MM)))
        return found

    def fonts(self) -> dict[str, bool]:
        """Names of the fonts in use, and whether each is embedded."""
        found: dict[str, bool] = {}
        for page in self.document:
            for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
                font = raw.FPDFTextObj_GetFont(thing)
                name = ctypes.create_string_buffer(100)
                raw.FPDFFont_GetBaseFontName(font, name, 100)
                embedded = raw.FPDFFont_GetIsEmbedded(font) == 1
                found[name.value.decode()] = found.get(name.value.decode(), True) and embedded
        return found


def centres(dark: NDArray[np.bool_]) -> list[float]:
    """Centres of the dark runs along a line of pixels."""
    steps = np.flatnonzero(np.diff(np.concatenate(([0], dark.astype(np.int8), [0]))))
    return [(float(start) + float(end) - 1) / 2 for start, end in zip(steps[::2], steps[1::2], strict=True)]


def numbers(value: Any) -> Iterator[float]:
    """Every number in a plan's JSON."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield float(value)


def measured(drawing: Drawing) -> Iterator[tuple[Dimensioned, float, float, str]]:
    """Every length dimensioned in a drawing: what is drawn divided by the scale, what it claims, what is written."""
    assert drawing.scale is not None
    for piece in drawing.dimensions:
        if isinstance(piece, Dimension):
            yield piece, (piece.end - piece.start) / drawing.scale, piece.value_mm, piece.text
        else:
            for place, value, text in piece.stops:
                yield piece, abs(place - piece.origin) / drawing.scale, value, text
