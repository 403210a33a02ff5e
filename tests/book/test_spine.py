import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.rule_row import Halves, spread
from matref.book.spine import Limits, Sewing, sections_from, spine, threads_in_fold
from matref.book.text_block import Text
from matref.book.thread import thread_from_tex
from matref.errors import BadInput
from matref.estimator.distribution import Exact, LogNormal, LogNormalMixture, Normal, Uniform

FREE = Limits(10.0, 100.0)


def exact_spine(sheets, sections, leaf_um, thread_mm, flattening, *, kind="all-along", limits=FREE, deg=0.0, **text):
    return spine(
        Text(sheets, sections, Exact(leaf_um), Exact(1), **text),
        Sewing(Exact(thread_mm), Exact(flattening), kind),
        limits,
        rounding_deg=deg,
    )


def test_jones_long_stitch():
    """Jones, long stitch (Wikibooks): 19 sections of 8 sheets, thread 1 mm, 0.5 mm wound tight: swell 9.5 mm."""
    found = exact_spine(8, 19, 100, 1.0, 0.5)
    assert found.swell_mm.value == pytest.approx(9.5)
    assert found.spine_mm.value == pytest.approx(found.fore_edge_mm.value + 9.5)
    assert found.biggest_cause.startswith("nothing")


def test_pages_of_the_bulk_table():
    """Gould Paper, bulk table: 8 pages .016 in, 320 pages .64 in; .010 in over four sheets is 800 pages to the inch."""
    found = exact_spine(4, 20, 0.016 * 25400 / 4, 0.3, 0.5)
    assert found.pages == 320
    assert found.fore_edge_mm.value == pytest.approx(0.64 * 25.4)
    assert exact_spine(4, 20, 0.010 * 25400 / 4, 0.3, 0.5).pages_per_inch.value == pytest.approx(800)


def test_two_on_halves_the_swell():
    """Cockerell 1901, Zaehnsdorf 1890."""
    alone, pairs = (exact_spine(4, 10, 100, 0.4, 0.7, kind=kind) for kind in ("all-along", "two-on"))
    assert pairs.swell_mm.value == pytest.approx(alone.swell_mm.value / 2)
    ends = spine(Text(4, 10, Exact(100), Exact(1)), Sewing(Exact(0.4), Exact(0.7), "two-on", singly=4), FREE)
    assert ends.swell_mm.value == pytest.approx(alone.swell_mm.value * 0.7)
    assert threads_in_fold("machine", 5) == 1


def test_third_of_a_circle():
    """Zaehnsdorf 1890: the round is about a third of a circle; arc over chord 1.2092."""
    found = exact_spine(8, 10, 100, 0.3, 0.5, deg=120)
    assert found.arc_mm.value / found.fore_edge_mm.value == pytest.approx(1.2092, abs=1e-4)
    flat = exact_spine(8, 10, 100, 0.3, 0.5)
    assert flat.arc_mm == flat.spine_mm


def test_arc_is_never_shorter_than_the_folds_need():
    found = exact_spine(4, 10, 100, 0.5, 1.0, deg=60)
    assert found.arc_mm == found.spine_mm
    tamer = exact_spine(4, 10, 100, 0.5, 0.5, deg=60)
    assert any("a swell of 5 %, this book has 31 %: round it to about 142 degrees" in said for said in tamer.warnings)
    huge = exact_spine(1, 10, 100, 0.5, 1.0, deg=60)
    assert any("not even a half circle" in said for said in huge.warnings)


def test_uncertainty_budget():
    """Own budget, first order (GUM 5.1.2), worked by hand: N 8, s 4, t 0.103 mm ± 5 %, d 0.53 mm, φ 0.6 ± 0.15:
    T 6.6, S 2.5, u from t 0.33, from φ 0.64, together 0.72 mm; the swell dominates."""
    r3 = math.sqrt(3)
    found = spine(
        Text(4, 8, Normal(103, 5.15), Exact(1)), Sewing(Exact(0.53), Uniform(0.6 - r3 * 0.15, 0.6 + r3 * 0.15)), FREE
    )
    assert found.fore_edge_mm.value == pytest.approx(6.6, abs=0.02)
    assert found.swell_mm.value == pytest.approx(2.5, abs=0.06)
    rng, n = np.random.default_rng(5), 200_000  # a normal and a rectangle, so no closed form for the 90 % interval
    random = 64 * rng.normal(0.103, 0.00515, n) + 4.24 * rng.uniform(0.6 - r3 * 0.15, 0.6 + r3 * 0.15, n)
    assert np.std(random) == pytest.approx(0.72, abs=0.005)
    low, high = np.quantile(random, [0.05, 0.95])
    assert found.spine_mm.half_width == pytest.approx((high - low) / 2, rel=0.02)
    assert found.biggest_cause.startswith("how much of the thread's thickness is left after nipping (7")
    assert dict(found.causes) == pytest.approx({"flattening": 0.79, "caliper": 0.21}, abs=0.03)


@pytest.mark.parametrize("sections", [4, 16, 25])
def test_common_errors_add_linearly(sections):
    """One leaf, thread and flattening serve all sections: n sections have n times the doubt of one, not √n times."""
    text = {"caliper_um": LogNormal(math.log(100), 0.05), "pressing": Uniform(0.9, 1.0)}
    sewing = Sewing(Halves(0.4, 0.5, 0.65), Uniform(0.4, 1.0))
    one, many = (spine(Text(4, n, **text), sewing, FREE) for n in (1, sections))
    for name in ("fore_edge_mm", "swell_mm", "spine_mm"):
        assert getattr(many, name).half_width == pytest.approx(sections * getattr(one, name).half_width)
    assert many.swell_ratio == pytest.approx(one.swell_ratio) or many.swell_ratio.value == pytest.approx(
        one.swell_ratio.value
    )


def test_endpapers_and_guards():
    same = exact_spine(4, 5, 100, 0.3, 0.5, endpaper_leaves=4)
    own = exact_spine(4, 5, 100, 0.3, 0.5, endpaper_leaves=4, endpaper_um=Exact(150))
    assert same.fore_edge_mm.value == pytest.approx(4.4)
    assert own.fore_edge_mm.value == pytest.approx(4.6)
    guarded = exact_spine(4, 5, 100, 0.3, 0.5, guarded=2, guard_um=Exact(60))
    assert guarded.swell_mm.value == pytest.approx(5 * 0.15 + 2 * 2 * 0.06)
    assert guarded.closed_section_mm.value == pytest.approx(0.95)
    sprung = spine(Text(4, 5, Exact(100), Exact(1)), Sewing(Exact(0.3), Exact(0.5), fold_mm=Exact(0.1)), FREE)
    assert sprung.swell_mm.value == pytest.approx(1.25)


def test_json_has_exactly_the_contracts_keys():
    found = exact_spine(4, 5, 100, 0.3, 0.5).as_json()
    assert set(found) == {
        "fore_edge_mm",
        "swell_mm",
        "spine_mm",
        "swell_ratio",
        "creep_mm",
        "pages",
        "pages_per_inch",
        "arc_mm",
        "biggest_cause",
        "warnings",
    }
    assert set(found["spine_mm"]) == {"value", "low", "high"}
    assert found["creep_mm"]["value"] == pytest.approx(math.pi / 2 * 3 * 0.1)


def test_limits_are_told_with_a_remedy_that_works():
    limits = Limits(0.3, 1.397)
    swollen = exact_spine(4, 10, 100, 0.5, 0.8, limits=Limits(0.3, 1.5))
    (said,) = swollen.warnings
    assert "50 % of the block" in said
    assert "thread of 60 % of this thickness, 7 sheets in a section or sewing two-on would bring it down" in said
    assert exact_spine(7, 10, 100, 0.5, 0.8, limits=Limits(0.3, 2)).warnings == ()
    assert exact_spine(4, 10, 100, 0.3, 0.8, limits=limits).warnings == ()
    assert exact_spine(4, 10, 100, 0.5, 0.8, kind="two-on", limits=limits).warnings == ()
    (thick,) = exact_spine(8, 10, 100, 0.2, 0.5, limits=limits).warnings
    assert "take 6 sheets" in thick
    doubtful = spine(Text(4, 10, Exact(100), Exact(1)), Sewing(Exact(0.35), Uniform(0.4, 0.9)), limits)
    assert "may reach" in doubtful.warnings[0]


@pytest.mark.parametrize(
    ("number", "thread", "limits", "cures"),
    [
        (10, 0.5, Limits(0.3, 1.397), "thread of 60 % of this thickness or sewing two-on"),  # 7 sheets make 1.4 mm
        (10, 0.5, Limits(0.3, 2, sheets=6), "thread of 60 % of this thickness or sewing two-on"),  # the machine's most
        (10, 0.5, Limits(0.3, 2, two_on=False), "thread of 60 % of this thickness or 7 sheets in a section"),
        (2, 0.5, Limits(0.3, 1.3), "thread of 60 % of this thickness"),  # both sewn all along: nothing to pair
        (1, 0.5, Limits(0.3, 1.3), "thread of 60 % of this thickness"),
        (10, 0.6, Limits(0.3, 1.3), "thread of 50 % of this thickness"),  # 0.6 (2 + 8/2)/10 = 0.36 is still above 0.30
        (10, 5.0, Limits(0.3, 1.397), "thread of 6 % of this thickness"),  # 4 · 5.0/0.3 = 67 sheets are no section
    ],
)
def test_no_remedy_is_named_that_cannot_be_had(number, thread, limits, cures):
    """R = m·φ·d/(2·s·t): 0.8·0.5/0.8 = 50 %; two-on with the first and last all along m = (2 + (N - 2)/2)/N."""
    (said,) = exact_spine(4, number, 100, thread, 0.8, limits=limits).warnings
    assert said.endswith(f": {cures} would bring it down")


def test_sections_or_pages():
    assert sections_from(4, sections=7) == (7, ())
    assert sections_from(4, pages=80) == (5, ())
    number, (said,) = sections_from(4, pages=3)
    assert (number, said.endswith("1 section gives 16 pages, 13 to spare")) == (1, True)
    for wrong in ({}, {"sections": 3, "pages": 48}):
        with pytest.raises(BadInput, match="one of the two"):
            sections_from(4, **wrong)
    with pytest.raises(BadInput):
        sections_from(4, pages=0)


@pytest.mark.parametrize("change", [{"sheets_per_section": 0}, {"sections": -1}])
def test_impossible_counts(change):
    counts = {"sheets_per_section": 4, "sections": 5, **change}
    with pytest.raises(BadInput):
        spine(Text(**counts, caliper_um=Exact(100), pressing=Exact(1)), Sewing(Exact(0.3), Exact(0.5)), FREE)


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 12), st.integers(1, 30), st.floats(40, 300), st.floats(0.1, 1.0), st.floats(0, 180))
def test_order_of_things(sheets, sections, leaf_um, thread, deg):
    found = spine(
        Text(sheets, sections, LogNormal(math.log(leaf_um), 0.05), Uniform(0.9, 1)),
        Sewing(Uniform(0.8 * thread, 1.2 * thread), Uniform(0.4, 1)),
        Limits(0.3, 1.397),
        rounding_deg=deg,
    )
    for name in ("fore_edge_mm", "swell_mm", "spine_mm", "swell_ratio", "pages_per_inch", "arc_mm"):
        one = getattr(found, name)
        assert 0 < one.low < one.value < one.high
    assert found.fore_edge_mm.value < found.spine_mm.value <= found.arc_mm.value + 1e-9
    assert found.section_mm.value < found.closed_section_mm.value
    assert sum(share for _, share in found.causes) == pytest.approx(1)


def stacked_book(text, thread, phi, kappa, deg):
    """A book laid up leaf by leaf: (fore-edge, swell, spine, ratio, creep, pages per inch, arc), for many truths."""
    sheets, sections, leaf = text
    edge, spine_height = np.zeros_like(leaf), np.zeros_like(leaf)
    for _ in range(sections):
        for _ in range(2 * sheets):
            edge += leaf
            spine_height += leaf
        spine_height += thread * phi
    creep = np.zeros_like(leaf)
    for _ in range(sheets - 1):
        creep += kappa * leaf
    bend = np.linspace(0, math.radians(deg), 2001) if deg else None
    arc = spine_height
    if bend is not None:  # length of a polyline on the circle whose chord is the fore-edge
        x, y = np.sin(bend - bend[-1] / 2), np.cos(bend - bend[-1] / 2)
        length, chord = np.hypot(np.diff(x), np.diff(y)).sum(), x[-1] - x[0]
        arc = np.maximum(edge * length / chord, spine_height)
    return edge, spine_height - edge, spine_height, spine_height / edge - 1, creep, 25.4 / leaf * 2, arc


def test_coverage_of_ten_thousand_books(practice):
    """50 designs, 200 books of each from known truths, laid up leaf by leaf: nine in ten lie in the 90 % intervals."""
    rng = np.random.default_rng(7)
    names = ("fore_edge_mm", "swell_mm", "spine_mm", "swell_ratio", "creep_mm", "pages_per_inch", "arc_mm")
    inside = dict.fromkeys(names, 0)
    kappa_rule = spread(practice.creep_factor)
    for _ in range(50):
        sheets, sections = int(rng.integers(2, 9)), int(rng.integers(3, 20))
        mean, sd, deg = rng.uniform(60, 180), rng.uniform(0.01, 0.12), float(rng.choice([0, 0, 90, 120]))
        parts = ((0.7, math.log(mean), sd), (0.3, math.log(1.15 * mean), sd))
        thread = thread_from_tex(rng.uniform(30, 200), 0.47, 0.68, 0.91)
        found = spine(
            Text(sheets, sections, LogNormalMixture(parts), practice.pressing_of()),
            Sewing(thread, practice.flattening_of()),
            FREE,
            rounding_deg=deg,
            creep_factor=kappa_rule,
        )
        size = 200
        caliper = np.exp(rng.normal(np.where(rng.random(size) < 0.7, parts[0][1], parts[1][1]), sd))
        leaf = caliper / 1000 * rng.uniform(0.9, 1.0, size)
        true_thread = np.array([thread.quantile(share) for share in rng.random(size)])
        kappa = np.array([kappa_rule.quantile(share) for share in rng.random(size)])
        truth = stacked_book((sheets, sections, leaf), true_thread, rng.uniform(0.4, 1.0, size), kappa, deg)
        for name, values in zip(names, truth, strict=True):
            one = getattr(found, name)
            inside[name] += int(((values >= one.low) & (values <= one.high)).sum())
    for name in names:
        assert inside[name] / 10_000 == pytest.approx(0.9, abs=0.012), name


def test_intervals_against_random_draws():
    """JCGM 101 Monte Carlo with numpy, 300,000 draws, fixed seed."""
    found = spine(
        Text(
            4,
            9,
            LogNormal(math.log(98), 0.06),
            Uniform(0.9, 1),
            endpaper_leaves=4,
            endpaper_um=Normal(130, 6),
        ),
        Sewing(Uniform(0.3, 0.5), Uniform(0.4, 1)),
        FREE,
    )
    rng, n = np.random.default_rng(11), 300_000
    k = rng.uniform(0.9, 1, n)
    edge = 72 * np.exp(rng.normal(math.log(98), 0.06, n)) * k / 1000 + 4 * rng.normal(130, 6, n) * k / 1000
    swell = 9 * rng.uniform(0.3, 0.5, n) * rng.uniform(0.4, 1, n)
    for one, values in (
        (found.fore_edge_mm, edge),
        (found.spine_mm, edge + swell),
        (found.swell_ratio, swell / edge),
    ):
        low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
        assert (one.low, one.value, one.high) == pytest.approx((low, middle, high), abs=0.02 * (high - low))
