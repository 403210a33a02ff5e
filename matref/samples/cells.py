"""Cells of an exchanged table: harmless to a spreadsheet, and back exactly as they were.

A spreadsheet takes a cell that begins with = + - @ for a formula, also after blanks or a tab. Such a cell goes out with
an apostrophe before it; coming in, that apostrophe is taken off again. A cell that already was an apostrophe before
such a sign gets one more, so that nothing is lost.
"""

from __future__ import annotations

import re

_RISKY = re.compile(r"'*(?:[\t\r\n]|\s*[=+\-@\uFF1D\uFF0B\uFF0D\uFF20])")


def outgoing(cell: str) -> str:
    """Return the cell as written.

    >>> outgoing("=1+1"), outgoing("'-2"), outgoing("98 g")
    ("'=1+1", "''-2", '98 g')
    """
    return "'" + cell if _RISKY.match(cell) else cell


def incoming(cell: str) -> str:
    """Return the cell as it was before `outgoing`.

    >>> incoming("'=1+1"), incoming("''-2"), incoming("98 g"), incoming("'tis")
    ('=1+1', "'-2", '98 g', "'tis")
    """
    return cell[1:] if cell.startswith("'") and _RISKY.match(cell) else cell
