from hypothesis import given
from hypothesis import strategies as st

from matref.book.endpapers import folded_sheets, free_leaves


def test_vaughn_s_and_the_usual_endpapers():
    """Vaughn 1912: at least four folded sheets, two for each end: eight leaves, six in the block."""
    assert (folded_sheets(8), free_leaves(8)) == (4, 6)
    assert (folded_sheets(4), free_leaves(4)) == (2, 2)  # one folded sheet at each end, one of its leaves pasted down


@given(st.integers(0, 40))
def test_both_ends_are_alike_and_hold_what_was_asked(leaves):
    sheets = folded_sheets(leaves)
    assert sheets % 2 == 0
    assert max(leaves, 4) <= 2 * sheets < max(leaves, 4) + 4
    assert free_leaves(leaves) == 2 * sheets - 2
