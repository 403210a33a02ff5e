"""The paper of a plan: a sample, a pile on the shelf, a measured sheet or other evidence, as the book takes it."""

from __future__ import annotations

import math
import re
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Any

from matref.answers import Paper, paper_of
from matref.book.leaf_supply import Salvage
from matref.book.plan_input import PaperKnown
from matref.book.rule_row import RuleRow
from matref.book.sections import applies
from matref.book.structures.parts import Layer
from matref.catalogue.rows import fetch
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.distribution import LogNormal
from matref.estimator.estimate import Estimate
from matref.estimator.evidence import Evidence
from matref.estimator.observation import Observation, label
from matref.estimator.support import Support
from matref.planning.document import Document, Values
from matref.planning.material import Material, Scaled
from matref.quantities import Size, parse_thickness

_FIELDS: Mapping[str, str] = {
    "class": "paper_class",
    "grammage_gsm": "grammage",
    "sheets": "sheets",
    "mass_g": "mass",
    "scale_resolution_g": "scale_resolution",
    "stack_sheets": "stack_sheets",
    "stack_mm": "stack",
    "ream_mass_g": "ream_mass",
    "ream_sheets": "ream_sheets",
    "with": "with_",
    "held": "held",
    "book_pages": "book_pages",
    "book_thickness_mm": "book_thickness",
    "book_mass_g": "book_mass",
    "cover": "cover",
}
"""Keys of the table, and the fields of Evidence that they fill."""
_BESIDE_CALIPER = frozenset({"paper_class", "grammage"})
_UNKNOWN_RULE = "material.grammage.text"
_MOST_LIKELY = 0.5


@dataclass(frozen=True, slots=True)
class PlanPaper:
    """The paper of a plan: for the book, as a material of its own (endpapers, weight), and what it rests on."""

    known: PaperKnown
    material: Material
    price: float | None
    warnings: tuple[str, ...]


def plan_paper(connection: sqlite3.Connection, document: Document, rules: Rules, level: float) -> PlanPaper:
    """Return the paper of a plan; BadInput starts with "paper"."""
    values = document.paper
    try:
        return _paper(connection, values, document, rules, level)
    except BadInput as error:
        wrong = _named_keys(error.wrong)
        raise BadInput(
            wrong if wrong.startswith("paper") else f"paper: {wrong}",
            expected=_named_keys(error.expected),
            example=_as_keys(error.example),
        ) from error


def _paper(connection: sqlite3.Connection, values: Values, document: Document, rules: Rules, level: float) -> PlanPaper:
    values, pile_words = _from_shelf(connection, values)
    evidence_rules = Rules(connection, own_habit=True)
    evidence, extra, assumed = _evidence(connection, values, rules, evidence_rules)
    thick = values.typed("caliper_um")
    beside: Evidence = evidence
    if thick is not None:
        others = [name for name in evidence.typed() if name not in _BESIDE_CALIPER]
        if others or extra:
            raise BadInput(
                "paper.caliper_um: a measured caliper beside other measurements of the paper",
                expected="one of the two, with a class or a grammage beside it if you like",
                example="caliper_um = 104",
            )
        found = paper_of(connection, Evidence(), (), thick, level)
        micrometres = parse_thickness(thick).value
        beside = replace(evidence, stack_sheets=1, stack=f"{micrometres:g} um", with_="micrometer")
    else:
        if values.flag("in_block", False):
            raise BadInput(
                "paper.in_block: no caliper was given that it could be true of",
                expected="caliper_um, measured in the pressed block",
                example="caliper_um = 104",
            )
        found = paper_of(connection, evidence, extra, None, level, evidence_rules)
    answer = found.estimate or caliper(connection, beside, level=level, with_advice=False)
    if found.estimate is None:
        found = replace(found, surface=answer.surface if evidence.paper_class else "mixed")
    name = values.text("name") or pile_words or _sample_words(connection, values) or _named(answer, evidence)
    known = PaperKnown(
        name=name,
        caliper_um=found.caliper_um,
        surface=found.surface,
        in_block=values.flag("in_block", False),
        pile=_salvage(values, document),
        sheets_rule=_sheets_rule(connection, rules, answer),
    )
    thickness = Scaled(found.caliper_um, 1e-3)
    layer = Layer(name, thickness.quantile(0.5), known_mm=thickness)
    weighed = Material("text", layer, thickness, _spread(answer.grammage_gsm), _rests_on(found, answer), assumed)
    warnings = (*found.warnings, *((assumed,) if assumed else ()))
    return PlanPaper(known, weighed, values.number("price"), warnings)


def _spread(weighed: Estimate) -> LogNormal:
    """Return a log-normal with an estimate's median and the width of its interval."""
    z = NormalDist().inv_cdf((1 + weighed.level) / 2)
    return LogNormal(math.log(weighed.value), max(math.log(weighed.high / weighed.low) / (2 * z), 1e-9))


def paper_evidence(connection: sqlite3.Connection, values: Values) -> dict[str, Any]:
    """Return what a plan says of its paper, by the names that `caliper` and a finished book have for it.

    `caliper_um` alone where one sheet was measured (a class or a grammage may stand beside it in a plan); else fields
    of `Evidence`, and `sample`, the plan's own or that of the pile on the shelf; empty where nothing is said.
    """
    values, _ = _from_shelf(connection, values)
    if "caliper_um" in values:
        return {"caliper_um": values.typed("caliper_um")}
    sample = values.text("sample")
    return {**_fields(values), **({"sample": sample} if sample else {})}


def _fields(values: Values) -> dict[str, Any]:
    """Return the fields of Evidence that the table gives; a size only where something was weighed."""
    fields = {field: values.given[key] for key, field in _FIELDS.items() if key in values}
    size = values.size("size")
    if size is not None and {"mass", "book_mass", "ream_mass"} & set(fields):
        fields["size"] = size.name or size.as_typed
    return fields


def _evidence(
    connection: sqlite3.Connection, values: Values, rules: Rules, evidence_rules: Rules
) -> tuple[Evidence, tuple[Observation, ...], str]:
    """Return the evidence and observations of a paper; where there are none, those of any text paper."""
    evidence = Evidence(**_fields(values))
    if sample := values.text("sample"):
        from matref.samples import Samples

        evidence, extra = Samples(connection).as_evidence(sample, evidence, evidence_rules)
        return evidence, extra, ""
    if evidence.typed() or "caliper_um" in values:
        return evidence, (), ""
    factor = rules[_UNKNOWN_RULE].factor()
    usual = label(1.0, factor)
    words = f"{factor.low:g} to {factor.high:g} g/m²"
    assumed = f"the paper is not described: any text paper of {words} is taken; weigh and measure the pile"
    return evidence, (replace(usual, words=f"text paper of {words} ({_UNKNOWN_RULE})"),), assumed


def _from_shelf(connection: sqlite3.Connection, values: Values) -> tuple[Values, str]:
    """Fill in what the shelf knows of a pile; what the plan says itself goes before."""
    named = values.text("pile")
    if named is None:
        return values, ""
    from matref.stock import Stock

    pile = Stock(connection).get(named)
    if pile.material != "paper":
        raise BadInput(
            f"paper.pile: {pile.label or pile.id} is {pile.material} on the shelf", expected="a pile of paper"
        )
    size = Size(pile.width_mm, pile.height_mm, f"{pile.width_mm:g} x {pile.height_mm:g} mm", 0.0)
    shelf = {"leaves": pile.count, "leaf_size": size, "grain": pile.grain, "price": pile.price, "sample": pile.sample}
    own_evidence = any(key in values for key in (*_FIELDS, "sample", "caliper_um"))
    if own_evidence:
        shelf.pop("sample")
    kept = {key: value for key, value in shelf.items() if value not in (None, "")}
    return Values(values.path, {**kept, **values.given}), pile.label


def _salvage(values: Values, document: Document) -> Salvage | None:
    size = values.size("leaf_size") or values.size("size")
    leaves = values.whole("leaves")
    if size is None:
        if leaves is not None:
            raise BadInput(
                "paper.leaves: the size of the leaves is not given", expected="leaf_size", example='leaf_size = "A4"'
            )
        return None
    # A size that only belongs to the sheets weighed says nothing of leaves to cut up.
    if leaves is None and "leaf_size" not in values and document.book.text("use") is None and "grain" not in values:
        return None
    grain = values.text("grain") or "unknown"
    edge = values.mm("edge_mm") or 0.0
    long, short = max(size.width_mm, size.height_mm), min(size.width_mm, size.height_mm)
    return Salvage(long, short, grain, edge, leaves)  # type: ignore[arg-type]


def _sheets_rule(connection: sqlite3.Connection, rules: Rules, answer: CaliperResult) -> RuleRow | None:
    """Return the trade's count of sheets in a section for the likeliest class, if it is likelier than not."""
    if not answer.classes or answer.classes[0].probability < _MOST_LIKELY:
        return None
    likeliest = answer.classes[0].class_id
    rows = fetch(
        connection,
        "SELECT id, applies_to FROM rule WHERE topic = 'section' AND name = 'sheets_per_section' ORDER BY id",
    )
    return next((rules[row["id"]] for row in rows if applies(str(row.get("applies_to", "")), likeliest)), None)


def _sample_words(connection: sqlite3.Connection, values: Values) -> str:
    """Return what the sample is called, for an id says nothing to a person."""
    sample = values.text("sample")
    if sample is None:
        return ""
    from matref.samples import Samples

    return Samples(connection).get(sample).label or f"sample {sample}"


def _named(answer: CaliperResult, evidence: Evidence) -> str:
    words = answer.classes[0].name if answer.classes and answer.classes[0].probability >= _MOST_LIKELY else "paper"
    return f"{words.lower()}, about {answer.grammage_gsm.value:.0f} g/m²" if evidence.typed() else "paper not described"


def _rests_on(paper: Paper, answer: CaliperResult) -> tuple[Support, ...]:
    return (
        paper.rests_on if paper.estimate else (*paper.rests_on, *(s for s in answer.rests_on if s.kind == "readings"))
    )


_OPTION = re.compile(r"--([a-z][a-z-]*)")
_SETTING = re.compile(r'--([a-z][a-z-]*) ("[^"]*"|[^\s"]+)')


def _named_keys(text: str) -> str:
    """Turn the options that a sentence names into keys of the file.

    >>> _named_keys("--size, --sheets and --scale-resolution together")
    'size, sheets and scale_resolution together'
    """
    return _OPTION.sub(lambda found: found[1].replace("-", "_"), text)


def _as_keys(example: str) -> str:
    """Turn an example of options into keys of the file.

    >>> _as_keys('--size A4 --sheets 20 --mass "98 g"')
    'size = "A4", sheets = 20, mass = "98 g"'
    """
    found = _SETTING.findall(example)
    if not found or not example.startswith("--"):
        return _named_keys(example)
    return ", ".join(f"{name.replace('-', '_')} = {_toml(value)}" for name, value in found)


def _toml(value: str) -> str:
    plain = value.strip('"')
    return plain if plain.replace(".", "", 1).isdigit() else f'"{plain}"'
