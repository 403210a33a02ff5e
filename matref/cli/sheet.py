"""What `plan` and `layout` share for the bench: the options for files to print, and the page's size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import click

from matref.errors import BadInput

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Outputs:
    """The files that were asked for, None for those that were not; the size of the PDF's pages."""

    pdf: str | None
    svg: str | None
    html: str | None = None
    page: str | None = None

    @property
    def files(self) -> list[str]:
        """The names of the files."""
        return [name for name in (self.pdf, self.svg, self.html) if name is not None]

    @property
    def paper(self) -> str:
        """The size of the page: A4 unless asked otherwise."""
        return self.page or "A4"

    def check(self) -> None:
        """Refuse two outputs of one name, and a page's size without pages."""
        places = [Path(name).expanduser().absolute() for name in self.files]
        twice = next((name for name, place in zip(self.files, places, strict=True) if places.count(place) > 1), None)
        if twice is not None:
            raise BadInput(f"{twice} is asked for twice", expected="a name for each file", example="--pdf sheet.pdf")
        if self.page is not None and self.pdf is None:
            raise BadInput("--page without --pdf", expected="both", example=f"--pdf sheet.pdf --page {self.page}")

    def told(self) -> str:
        """Say what was written."""
        return "".join(f"\nWritten: {name}" for name in self.files)


def output_options(command: Decorated) -> Decorated:
    """Give a command `--pdf`, `--svg` and `--page`."""
    for option in (
        click.option(
            "--page",
            type=click.Choice(["A4", "letter"], case_sensitive=False),
            show_default="A4",
            help="Size of the pages of the PDF.",
        ),
        click.option(
            "--svg", metavar="OUT.svg", show_default="none", help="Write the drawings as SVG, in millimetres."
        ),
        click.option("--pdf", metavar="OUT.pdf", show_default="none", help="Write pages to print for the bench."),
    ):
        command = option(command)
    return command


def html_option(command: Decorated) -> Decorated:
    """Give a command `--html`."""
    return click.option(
        "--html", metavar="OUT.html", show_default="none", help="Write the sheet of work as one page for a browser."
    )(command)


def write_sheets(plan: object, outputs: Outputs, units: str) -> None:
    """Write the sheet of work of a plan wherever it was asked for; each file as a whole or not at all."""
    if not outputs.files:
        return
    from matref.bench import plan_svg, sheet_of_work_html, sheet_of_work_pdf, write_whole

    if outputs.html is not None:
        write_whole(sheet_of_work_html(plan, units).encode(), outputs.html)
    if outputs.svg is not None:
        write_whole(plan_svg(plan, units=units).encode(), outputs.svg)
    if outputs.pdf is not None:
        sheet_of_work_pdf(plan, outputs.pdf, outputs.paper, units)
