"""`sample`: what you measured yourself, kept as typed; it counts in every later estimate of its class."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.cli.group import Group, asks_for_help
from matref.cli.options import evidence_of, evidence_options
from matref.cli.session import Decorated, Session, common_options

if TYPE_CHECKING:
    from matref.samples import Sample


@click.group(
    cls=Group,
    invoke_without_command=True,
    epilog="""Examples:

    \b
      matref sample add --label "tide tables" --class bond_writing --size A4 --sheets 20 --mass "98 g"
      matref sample list""",
)
@click.pass_context
def sample(context: click.Context) -> None:
    """Keep what you measured yourself; it counts in later estimates until it is removed."""
    if asks_for_help(context):
        click.echo(context.get_help())


def _words_options(command: Decorated) -> Decorated:
    for option in (
        click.option(
            "--measured-on", metavar="DAY", show_default="today", help="Day of the measurement: year-month-day."
        ),
        click.option(
            "--same-as",
            metavar="ID",
            show_default="a pile of its own",
            help="Another sample of the same pile, by id or label; a pile counts once.",
        ),
        click.option("--note", metavar="TEXT", show_default="none", help="Anything worth remembering; kept private."),
        click.option("--label", metavar="TEXT", show_default="none", help="Name to find it by."),
    ):
        command = option(command)
    return command


@sample.command(
    epilog="""Examples:

    \b
      matref sample add --label "tide tables" --size A4 --sheets 20 --mass "98 g" --stack-sheets 100 --stack "10.5 mm"
      matref sample add --label "ledger leaves" --class ledger --stack-sheets 1 --stack "0.112 mm" --with micrometer
      matref sample add --same-as "tide tables" --stack-sheets 50 --stack "5.2 mm" --held clamped --json"""
)
@_words_options
@evidence_options
@common_options
@click.pass_obj
def add(
    session: Session,
    /,
    label: str | None,
    note: str | None,
    same_as: str | None,
    measured_on: str | None,
    **typed: Any,
) -> None:
    """Keep a sample: at least one measurement, and its class if you know it."""
    with session.open() as workshop:
        kept = workshop.samples.add(
            label or "", note or "", same_as=same_as, measured_on=measured_on, **evidence_of(typed)
        )
    session.tell(kept.as_json(), lambda: _kept("kept", kept, session.units))


@sample.command(
    "list",
    epilog="""Examples:

    \b
      matref sample list
      matref sample list --class ledger --json""",
)
@click.option("--class", "class_id", metavar="ID", show_default="all", help="Only samples of this class.")
@click.option("--all", "withdrawn", is_flag=True, help="Removed samples too.")
@common_options
@click.pass_obj
def list_(session: Session, class_id: str | None, withdrawn: bool) -> None:
    """List your samples in the order in which they were added."""
    with session.open() as workshop:
        found = workshop.samples.list(class_id=class_id, withdrawn=withdrawn)

    def text() -> str:
        from matref.cli.text import columns

        lines = columns([_cells(one, session.units) for one in found])
        return lines or "no samples yet; matref sample add --help shows how to keep one"

    session.tell([one.as_json() for one in found], text)


@sample.command(
    epilog="""Examples:

    \b
      matref sample show "tide tables"
      matref sample show "tide tables" --json"""
)
@click.argument("name", metavar="ID")
@common_options
@click.pass_obj
def show(session: Session, name: str) -> None:
    """Show a sample, by id or label: as typed, as understood, and how it stood before each edit."""
    with session.open() as workshop:
        found = workshop.samples.get(name)
        history = workshop.samples.history(name)
    plain = {**found.as_json(), "history": [version.as_json() for version in history]}

    def text() -> str:
        from matref.cli.text import labelled

        typed = [f"{field.rstrip('_').replace('_', ' ')} {value}" for field, value in found.typed.items()]
        before = [f"until {version.replaced_at[:10]}: {_typed(version.typed)}" for version in history]
        return labelled(
            [
                ("Sample", f"{found.id} {found.label}".strip() + (" (removed)" if found.withdrawn_at else "")),
                ("Measured on", found.measured_on),
                ("Same pile as", found.same_as),
                ("As typed", typed),
                ("Alone it says", _says(found, session.units)),
                ("Note", found.note.splitlines()),
                ("Before", before),
            ]
        )

    session.tell(plain, text)


@sample.command(
    epilog="""Examples:

    \b
      matref sample edit "tide tables" --sheets 21
      matref sample edit "tide tables" --note "damp when weighed" --json

    An empty text takes a value out: --grammage ""."""
)
@click.argument("name", metavar="ID")
@_words_options
@evidence_options
@common_options
@click.pass_obj
def edit(session: Session, /, name: str, **changes: Any) -> None:
    """Correct a sample, by id or label; what it said before is kept."""
    with session.open() as workshop:
        changed = workshop.samples.edit(name, **evidence_of(changes))
    session.tell(changed.as_json(), lambda: _kept("now", changed, session.units))


@sample.command(
    epilog="""Examples:

    \b
      matref sample remove "tide tables" """
)
@click.argument("name", metavar="ID")
@common_options
@click.pass_obj
def remove(session: Session, name: str) -> None:
    """Withdraw a sample, by id or label: every estimate is as if it had never been; `restore` brings it back."""
    with session.open() as workshop:
        gone = workshop.samples.remove(name)
    session.tell(gone.as_json(), lambda: f"removed {gone.id} {gone.label}; matref sample restore {gone.id} undoes it")


@sample.command(
    epilog="""Examples:

    \b
      matref sample restore "chart offcuts" """
)
@click.argument("name", metavar="ID")
@common_options
@click.pass_obj
def restore(session: Session, name: str) -> None:
    """Let a removed sample, by id or label, count again."""
    with session.open() as workshop:
        back = workshop.samples.restore(name)
    session.tell(back.as_json(), lambda: _kept("counts again", back, session.units))


@sample.command(
    "import",
    epilog="""Examples:

    \b
      matref sample import loft.csv --check
      matref sample import loft.csv

    The first line names the columns, in any order: label, note, measured_on, same_as, id, class, grammage, size,
    sheets, mass, scale_resolution, stack_sheets, stack, with, held, book_pages, book_thickness, book_mass, cover,
    ream_sheets, ream_mass.""",
)
@click.argument("file", metavar="FILE")
@click.option("--check", is_flag=True, help="Only tell what would become of each row.")
@common_options
@click.pass_obj
def import_(session: Session, file: str, check: bool) -> None:
    """Add the samples of a table (CSV), all or none; rows that are here already are skipped."""
    with session.open() as workshop:
        report = workshop.samples.import_csv(file, apply=not check)

    def text() -> str:
        counted = f"{report.number('added')} {'added' if report.applied else 'would be added'}"
        lines = [f"{file}: {counted}, {report.number('skipped')} here already"]
        if bad := report.bad:
            lines[0] += f", {len(bad)} bad: nothing would be written"
        lines += report.notes
        lines += [f"line {row.line} {row.outcome}: {'; '.join(row.said)}" for row in report.rows if row.said]
        return "\n".join(lines)

    session.tell(report.as_json(), text)


@sample.command(
    "export",
    epilog="""Examples:

    \b
      matref sample export loft.csv
      matref sample export loft.csv --overwrite --notes""",
)
@click.argument("file", metavar="FILE")
@click.option("--notes", is_flag=True, help="Write your notes too; without this they stay private.")
@click.option("--overwrite", is_flag=True, help="Write over FILE if there is one.")
@common_options
@click.pass_obj
def export(session: Session, file: str, notes: bool, overwrite: bool) -> None:
    """Write the samples that count to FILE as a table (CSV) that `import` reads back exactly."""
    with session.open() as workshop:
        count = workshop.samples.export_csv(file, with_notes=notes, overwrite=overwrite)
    session.tell({"file": file, "samples": count}, lambda: f"{file}: {count} sample{'s' * (count != 1)}")


def _kept(word: str, one: Sample, preference: str) -> str:
    from matref.cli.text import labelled

    return labelled(
        [
            (word.capitalize(), f"{one.id} {one.label}".strip()),
            ("It says", _says(one, preference)),
            ("Warning", list(one.warnings)),
        ]
    )


def _says(one: Sample, preference: str) -> list[str]:
    from matref.cli.text import give_or_take

    said = []
    if one.grammage_gsm:
        said.append(f"{give_or_take(one.grammage_gsm.value, one.grammage_gsm.u, 'g/m2')} (standard uncertainty)")
    if one.caliper_um:
        said.append(
            f"{give_or_take(one.caliper_um.value, one.caliper_um.u, 'um', preference)} a sheet (standard uncertainty)"
        )
    return said


def _cells(one: Sample, preference: str) -> list[str]:
    from matref.cli.text import give_or_take

    grammage, thickness = one.grammage_gsm, one.caliper_um
    return [
        one.id,
        one.measured_on,
        one.paper_class or "",
        give_or_take(grammage.value, grammage.u, "g/m2") if grammage else "",
        give_or_take(thickness.value, thickness.u, "um", preference) if thickness else "",
        one.label + (" (removed)" if one.withdrawn_at else ""),
    ]


def _typed(typed: dict[str, str]) -> str:
    return ", ".join(f"{field.rstrip('_').replace('_', ' ')} {value}" for field, value in typed.items())
