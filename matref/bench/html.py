"""The sheet of work as one HTML page that needs nothing else: for the screen, and to print from the browser."""

from __future__ import annotations

from collections.abc import Iterator

from matref.bench.content import SheetOfWork, StepRow
from matref.bench.drawing import Drawing
from matref.bench.lengths import Units
from matref.bench.strips import PRINT_NOTE, check_bar, tiles
from matref.bench.svg import clean, svg

_TILE_MM = 186.0
"""Between the margins of both papers, upright."""
_STYLE = """
body { font-family: sans-serif; font-size: 10pt; line-height: 1.35; color: black; background: white;
  max-width: 190mm; margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 18pt; margin: 0; } h2 { font-size: 13pt; margin: 6mm 0 2mm; break-after: avoid; }
dl { display: grid; grid-template-columns: 34mm 1fr; gap: 0.8mm 2mm; margin: 3mm 0; }
dt { font-weight: bold; } dd { margin: 0; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; }
th, td { text-align: left; vertical-align: top; padding: 1mm 2mm 1mm 0; border-bottom: 0.2mm solid black; }
figure { margin: 4mm 0; break-inside: avoid; } figcaption { margin-bottom: 1mm; }
figure svg { max-width: 100%; height: auto; } .true svg { max-width: none; height: revert-layer; }
.steps li { margin-bottom: 2mm; break-inside: avoid; }
.steps ul { font-size: 9pt; list-style: "! "; padding-left: 5mm; }
.mind { font-weight: bold; } .small { font-size: 8.5pt; } .true { break-before: page; }
@page { margin: 10mm; } @media print { body { margin: 0; padding: 0; max-width: none; } }
"""


def html(sheet: SheetOfWork, units: Units) -> str:
    """Return the page; every text in it is escaped, and nothing is loaded from anywhere."""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        '<head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{clean(sheet.title)}</title>",
        f"<style>{_STYLE}</style></head>",
        "<body>",
        *_body(sheet, units),
        "</body>",
        "</html>",
    ]
    return "\n".join(lines) + "\n"


def _body(sheet: SheetOfWork, units: Units) -> Iterator[str]:
    measure = "millimetres" if units == "mm" else "inches"
    yield f"<h1>{clean(sheet.title)}</h1>"
    yield f"<p>{clean(sheet.subtitle)}. Dimensions in {measure}.</p>"
    for said in sheet.warnings:
        yield f'<p><span class="mind">Mind:</span> {clean(said)}</p>'
    yield "<dl>" + "".join(f"<dt>{clean(name)}</dt><dd>{clean(text)}</dd>\n" for name, text in sheet.facts) + "</dl>"
    if sheet.parts:
        yield "<h2>To cut, in this order</h2>"
        heads = ("Part", "Width × height", "From", "Grain", "When", "Made up of")
        rows = ((p.name, p.size, p.material, p.grain, p.when, p.made_of) for p in sheet.parts)
        yield (
            f"<table><thead><tr>{''.join(f'<th>{head}</th>' for head in heads)}</tr></thead>\n<tbody>"
            + "".join(f"<tr>{''.join(f'<td>{clean(cell)}</td>' for cell in row)}</tr>\n" for row in rows)
            + "</tbody></table>"
        )
    yield "<h2>Drawings</h2>"
    for drawing in sheet.drawings:
        yield _figure(drawing)
    yield "<h2>Steps</h2>"
    yield f"<p>{clean(' '.join(sheet.general))}</p>"
    yield '<ol class="steps">' + "".join(_step(step) for step in sheet.steps) + "</ol>"
    if sheet.layouts:
        yield "<h2>Cutting layouts</h2>"
    for drawing, cuts in sheet.layouts:
        yield _figure(drawing)
        yield "<ol>" + "".join(f"<li>{clean(cut)}</li>\n" for cut in cuts) + "</ol>"
    if sheet.needs:
        yield "<h2>Needed</h2>\n<ul>" + "".join(f"<li>{clean(need)}</li>\n" for need in sheet.needs) + "</ul>"
    yield '<h2>Rests on</h2>\n<p class="small">' + clean("; ".join(sheet.rests_on)) + "</p>"
    yield f'<section class="true">\n<h2>True size</h2>\n<p>{clean(PRINT_NOTE)}</p>'
    yield svg(check_bar(units), caption=False)
    for strip in sheet.strips:
        for tile in tiles(strip, _TILE_MM):
            yield _figure(tile)
    yield "</section>"


def _step(step: StepRow) -> str:
    said = "".join(f"<li>{clean(text)}</li>" for text in step.cautions)
    text = f"<ul>{said}</ul>" if said else ""
    if step.see is not None:
        text = f'<br><span class="small">Cautions as at step {step.see} ({clean(step.kind)}).</span>'
    return f"<li>{clean(step.do)}{text}</li>\n"


def _figure(drawing: Drawing) -> str:
    caption = f"<b>{clean(drawing.caption)}</b>" + (f"<br>{clean(drawing.note)}" if drawing.note else "")
    return f"<figure><figcaption>{caption}</figcaption>\n{svg(drawing, caption=False)}</figure>"
