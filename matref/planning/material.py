"""A material of a cover: its thickness and mass per area, each with its doubt, and what they rest on.

From a measured thickness, an entry of the catalogue, or a class with or without a grammage. What is not stated comes
from the estimator's line for the class, or from all classes of the family where the class is not known.
"""

from __future__ import annotations

import math
import sqlite3
from dataclasses import dataclass, field
from difflib import get_close_matches

from matref.book.rule_row import Halves, even
from matref.book.structures.parts import Layer
from matref.catalogue.rows import Row, fetch, fold, names_of
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.distribution import Distribution, Exact, Uniform
from matref.estimator.estimate import Estimate
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import posterior
from matref.estimator.store import load_model
from matref.estimator.support import Support
from matref.planning.keys import Length

CLOTHS = frozenset({"cloth", "interfacing", "mull"})
_CALIPER, _BOARD_CALIPER = "tolerance.caliper.mill", "tolerance.caliper.board_mill"
_ONE_PRODUCT = 1.5  # an entry whose high end is more than this times its low end is a range of products
_Z90 = 1.6448536269514722
_LEAST_U = 0.003  # a reading is never taken as surer than this (log scale), so that no line is forced through it


@dataclass(frozen=True, slots=True)
class Material:
    """One material: role, layer for the book (median thickness, mm), thickness, mm, and mass per area, g/m².

    `assumed`: what was taken for granted, in words, "" for nothing. `entry`: the catalogue row, if one was named;
    `classes`: of a cloth, the classes that it may be of, () where that is not known.
    """

    role: str
    layer: Layer
    thickness_mm: Distribution
    grammage_gsm: Distribution
    rests_on: tuple[Support, ...]
    assumed: str = ""
    entry: Row = field(default_factory=dict, hash=False)
    classes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The name that the parts carry."""
        return self.layer.name

    def as_json(self, level: float) -> dict[str, object]:
        """Return plain values."""
        return {
            "role": self.role,
            "name": self.name,
            "id": self.layer.material_id,
            "thickness_mm": Estimate.of(self.thickness_mm, level).as_json(),
            "grammage_gsm": Estimate.of(self.grammage_gsm, level).as_json(),
            "assumed": self.assumed,
            "rests_on": [support.as_json() for support in self.rests_on],
        }


@dataclass(frozen=True, slots=True)
class Named:
    """What a plan says of a material: an id or a name, a measured thickness, a mass per area as typed.

    `wanted`, `wanted_mm`: the rule that gives a grammage or a thickness for a material that nobody named (`assumed`).
    """

    text: str = ""
    thickness: Length | None = None
    grammage: str | None = None
    wanted: str = ""
    wanted_mm: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Scaled:
    """A distribution in another unit."""

    of: Distribution
    factor: float

    def quantile(self, p: float) -> float:
        """Return the quantile in the new unit."""
        return self.of.quantile(p) * self.factor


class Materials:
    """Looks up the materials of one plan; models are read from the file once."""

    def __init__(self, connection: sqlite3.Connection, rules: Rules) -> None:
        self._connection = connection
        self._rules = rules
        self._models: dict[str | None, Model] = {}

    def find(self, role: str, named: Named) -> Material:
        """Return a material; BadInput names the key, and the nearest ids for one that nobody knows."""
        row, kind = self._entry(role, named)
        thickness, grammage = self._thickness(role, named, row), self._grammage(role, named, row)
        rests_on = [Support("material", f"{role}: {row['name']}", (str(row["source_id"]),))] if row else []
        for rule in filter(None, (named.wanted, named.wanted_mm)):
            rests_on.append(Support("rule", rule, (self._rules[rule].source_id,)))
        classes: list[str] = []
        if thickness is None or grammage is None or role in CLOTHS:
            model = self._model("cloth" if role in CLOTHS else None)
            classes = [str(row["id"])] if kind == "material_class" else classes_of(model, row, self._connection)
        if thickness is None or grammage is None:
            seen = [_observed(thickness, 1000.0, caliper=True), _observed(grammage, 1.0, caliper=False)]
            known = posterior(model.only(classes) if classes else model, [o for o in seen if o is not None])
            caliper, gsm = known.caliper_um, known.grammage_gsm
            thickness = Scaled(caliper, 1e-3) if thickness is None else thickness
            grammage = gsm if grammage is None else grammage
            rests_on.append(_lines(role, model, classes))
        layer = Layer(self._name(role, named, row), thickness.quantile(0.5), str(row.get("id", "")), thickness)
        assumed = self._assumed(role, named, row) if named.assumed else ""
        of = tuple(classes) if role in CLOTHS else ()
        return Material(role, layer, thickness, grammage, tuple(rests_on), assumed, row, of)

    def _entry(self, role: str, named: Named) -> tuple[Row, str]:
        """Return the row that the text names and its table; an unknown text beside a thickness is just a name."""
        families = ("cloth",) if role in CLOTHS else ("paper", "board")
        marks = ", ".join("?" * len(families))
        tables = {
            "material_class": (f"SELECT * FROM material_class WHERE family IN ({marks}) AND ", families),
            **({"fabric": ("SELECT * FROM fabric WHERE ", ())} if role in CLOTHS else {}),
            **({"interfacing": ("SELECT * FROM interfacing WHERE ", ())} if role in CLOTHS else {}),
            **({"board": ("SELECT * FROM board WHERE ", ())} if role not in CLOTHS else {}),
        }
        if not named.text:
            return {}, ""
        wanted = named.text.removeprefix("class:")
        for table, (query, values) in tables.items():
            plain = wanted.removeprefix(f"{table}:")
            found = fetch(
                self._connection, query + "(id = ? OR lower(name) = lower(?)) LIMIT 1", (*values, plain, plain)
            )
            if found:
                return found[0], table
        if named.thickness is not None:
            return {}, ""
        ids = [r["id"] for query, values in tables.values() for r in fetch(self._connection, query + "1", values)]
        near = get_close_matches(wanted, ids, 3, 0.5)
        raise BadInput(
            f'cover.{role}: no material called "{named.text[:60]}"' + (f" (near: {', '.join(near)})" if near else ""),
            expected=f"an id that matref find lists, or its thickness as {role}_mm",
            example=f"{role}_mm = {2 if role == 'board' else 0.3}",
        )

    def _thickness(self, role: str, named: Named, row: Row) -> Distribution | None:
        if named.thickness is not None:
            half = min(named.thickness.step_mm / 2, self._tolerance(role) * named.thickness.mm)
            return Uniform(named.thickness.mm - half, named.thickness.mm + half)
        if named.wanted_mm:
            return even(self._rules[named.wanted_mm])
        stated = [row.get(f"thickness{end}_mm") for end in ("_low", "", "_high")]
        return self._one_product(role, stated, "thickness", f"{role}_mm", row)

    def _grammage(self, role: str, named: Named, row: Row) -> Distribution | None:
        if named.grammage is not None:
            from matref.catalogue.grades import basis_factors
            from matref.quantities import parse_grammage

            try:
                gsm = parse_grammage(named.grammage, basis_factors(self._connection)).value
            except BadInput as error:
                raise BadInput(
                    f"cover.{role}_gsm: {error.wrong}", expected=error.expected, example=f"{role}_gsm = 250"
                ) from error
            tolerance = self._rules.grammage_tolerance()
            return Uniform(gsm * tolerance.low, gsm * tolerance.high)
        if named.wanted:
            factor = self._rules[named.wanted].factor()
            return Uniform(factor.low, factor.high)
        column = "grammage_gsm" if "grammage_gsm" in row else "mass_gsm"
        stated = [row.get(column.replace("_gsm", f"{end}_gsm")) for end in ("_low", "", "_high")]
        return self._one_product(role, stated, "mass", f"{role}_gsm", row)

    def _one_product(self, role: str, stated: list[float | None], what: str, key: str, row: Row) -> Distribution | None:
        """Return what an entry states; a range of products is refused, for nobody knows which one is meant."""
        known = [float(x) for x in stated if x is not None]
        if not known:
            return None
        low, high = min(known), max(known)
        if high > _ONE_PRODUCT * low:
            raise BadInput(
                f"cover.{role}: {row['name']} is a range of products, {what} {low:g} to {high:g}",
                expected=f"{key} beside it, or the id of one product",
                example=f"{key} = {(low + high) / 2:.3g}",
            )
        if low == high:
            part = self._tolerance(role) if role not in CLOTHS else 0.0
            return Uniform(low * (1 - part), high * (1 + part)) if part else Exact(low)
        middle = stated[1]
        return Uniform(low, high) if middle is None else Halves(low, float(middle), high)

    def _assumed(self, role: str, named: Named, row: Row) -> str:
        words = str(row["name"]).lower() if row else "paper"
        if named.wanted:
            factor = self._rules[named.wanted].factor()
            words += f" of {factor.low:g} to {factor.high:g} g/m²"
        if named.wanted_mm:
            known = even(self._rules[named.wanted_mm])
            ends = dict.fromkeys(f"{round(known.quantile(p), 1):g}" for p in (0, 1))
            words += f" {' to '.join(ends)} mm thick"
        return f"no {role} is named: {words} is taken; name or measure yours"

    def _tolerance(self, role: str) -> float:
        """How far a product's thickness may lie from its name, as a share (the mills' tolerance)."""
        row = self._rules[_BOARD_CALIPER if role in ("board", "card") else _CALIPER]
        return (row.high or 0.0) / 100

    def _model(self, family: str | None) -> Model:
        if family not in self._models:
            self._models[family] = load_model(self._connection, family)
        return self._models[family]

    def _name(self, role: str, named: Named, row: Row) -> str:
        words = [str(row["name"]).lower() if row else named.text]
        if named.thickness is not None:
            words.append(f"{named.thickness.mm:g} mm")
        if named.grammage is not None:
            words.append(named.grammage.replace("g/m2", "g/m²"))
        plain = " ".join(word for word in words if word)
        return f"{role} ({plain})" if plain else role


def classes_of(model: Model, row: Row, connection: sqlite3.Connection) -> list[str]:
    """Return the classes that an entry belongs to by its names: those whose longest name it carries, else none."""
    if not row:
        return []
    own = {fold(name) for name in (*names_of(row), str(row.get("board_kind", "")))}
    words = set(fold(str(row["name"])))
    best: dict[int, list[str]] = {}
    for found in fetch(connection, "SELECT * FROM material_class"):
        if found["id"] not in model.classes:
            continue
        names = [fold(name.partition(",")[0]) for name in names_of(found)]
        fits = [len(name) + (10 if name in own else 0) for name in names if name in own or set(name) <= words]
        if fits:
            best.setdefault(max(fits), []).append(str(found["id"]))
    return best[max(best)] if best else []


def _observed(stated: Distribution | None, factor: float, *, caliper: bool) -> Observation | None:
    """Return a stated thickness (factor 1000: mm to µm) or grammage as an observation of the material."""
    if stated is None:
        return None
    low, middle, high = (stated.quantile(p) * factor for p in (0.05, 0.5, 0.95))
    u = max((math.log(high) - math.log(low)) / (2 * _Z90), _LEAST_U)
    part = (0.0, 1.0) if caliper else (1.0, 0.0)
    return Observation("stated", "as stated", *part, math.log(middle), u)


def _lines(role: str, model: Model, classes: list[str]) -> Support:
    if len(classes) == 1:
        found = model.classes[classes[0]]
        count = "1 reading" if found.readings == 1 else f"{found.readings} readings"
        of = f"{count} of {found.name.lower()}" if found.readings else f"all {found.family} readings"
        return Support("readings", f"{role}: {of}", found.source_ids)
    names = " and ".join(model.classes[c].name.lower() for c in classes) or "any kind"
    return Support("readings", f"{role}: {names}")
