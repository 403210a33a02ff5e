import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import block, swell
from matref.errors import BadInput

FLATTENING = st.floats(0.01, 1)


def test_jones_nineteen_sections():
    """Jones, long stitch (Wikibooks): 19 sections of 8 sheets, thread 1 mm that flattens to 0.5 mm: 9.5 mm."""
    assert swell.swell_mm(19, 1.0, 0.5) == pytest.approx(9.5)


@pytest.mark.parametrize("sections", [2, 12, 30])
def test_two_on_halves_the_swell(sections):
    """Cockerell 1901 and Zaehnsdorf 1890: sewing two-on halves stitches (six to three), thread and swell."""
    m = swell.threads_per_fold
    assert 6 * m("two-on") == 3
    all_along, two_on = (swell.swell_mm(sections, 0.5, 0.6, m(kind)) for kind in ("all-along", "two-on"))
    assert two_on == pytest.approx(all_along / 2)


def test_first_and_last_sections_sewn_singly():
    """Same books: the first and last few sections are still sewn all along. Counted thread by thread."""
    singly, pairs = [1] * 4, [0.5] * 8
    assert swell.two_on_threads_per_fold(12, 4) == pytest.approx(sum(singly + pairs) / 12)
    assert swell.two_on_threads_per_fold(12, 0) == swell.threads_per_fold("two-on")
    assert swell.two_on_threads_per_fold(12, 12) == swell.threads_per_fold("all-along")
    with pytest.raises(BadInput):
        swell.two_on_threads_per_fold(3, 4)


@pytest.mark.parametrize(("ratio", "sheets", "diameter"), [(0.25, 4, 0.40), (0.30, 4, 0.48), (0.25, 8, 0.80)])
def test_thread_for_a_ratio(ratio, sheets, diameter):
    """Own table at t = 0.10 mm, φ = 0.5; about 30 % is the swell hand binders accept (one craft source)."""
    assert swell.thread_for_ratio_mm(ratio, sheets, 100, 0.5) == pytest.approx(diameter)


def test_budget_example():
    """Own budget example: 8 sections, d = 0.53 mm, φ = 0.6: swell 2.5 mm."""
    assert swell.swell_mm(8, 0.53, 0.6) == pytest.approx(2.5, abs=0.05)


def test_guards_and_springy_folds_add_up():
    strip_um, guarded = 80, 3
    guards = guarded * 2 * strip_um / 1000
    layers = [0.5 * 0.6 + 0.1] * 5 + [0.08, 0.08] * guarded
    assert swell.swell_mm(5, 0.5, 0.6, guards_mm=guards, fold_mm=0.1) == pytest.approx(sum(layers))


@pytest.mark.parametrize("name", ["three-on", "", None, ["two-on"]])
def test_an_unknown_sewing_names_the_known(name):
    with pytest.raises(BadInput, match="all-along, two-on, machine"):
        swell.threads_per_fold(name)


@settings(deadline=None)
@given(st.integers(1, 12), st.integers(1, 60), st.floats(30, 400), st.floats(0.1, 2), FLATTENING)
def test_ratio_is_swell_over_block_for_any_number_of_sections(sheets, sections, leaf, thread, flattening):
    measured = swell.swell_mm(sections, thread, flattening) / block.fore_edge_mm(sheets, sections, leaf)
    assert swell.swell_ratio(sheets, leaf, thread, flattening) == pytest.approx(measured)
    assert swell.swell_ratio(2 * sheets, leaf, thread, flattening) == pytest.approx(measured / 2)
    back = swell.thread_for_ratio_mm(measured, sheets, leaf, flattening)
    assert back == pytest.approx(thread)


@settings(deadline=None)
@given(st.integers(1, 60), st.floats(0.1, 2), st.floats(0, 0.9), st.sampled_from([0.5, 1.0]))
def test_swell_never_negative_and_monotonic(sections, thread, flattening, m):
    base = swell.swell_mm(sections, thread, flattening, m)
    assert base >= 0
    assert swell.swell_mm(sections, thread, flattening + 0.1, m) > base
    assert swell.swell_mm(sections + 1, thread, flattening, m) >= base
    assert swell.swell_mm(sections, thread + 0.1, flattening, m) >= base
