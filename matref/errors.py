"""The errors matref raises, each one line long: what was wrong, what was expected, an example."""

from __future__ import annotations


class MatrefError(Exception):
    """Base of every error that matref raises on purpose.

    >>> str(MatrefError("0 sheets in the stack", expected="one or more", example="--stack-sheets 50"))
    '0 sheets in the stack; expected one or more, for example: --stack-sheets 50'
    """

    def __init__(self, wrong: str, *, expected: str = "", example: str = "") -> None:
        self.wrong = wrong
        self.expected = expected
        self.example = example
        text = wrong
        if expected:
            text += f"; expected {expected}"
        if example:
            text += f", for example: {example}" if expected else f"; for example: {example}"
        super().__init__(" ".join(text.split()))


class BadInput(MatrefError):
    """Something typed, posted or put in a file does not make sense. The command line exits with 2."""


class NotFound(BadInput):
    """A name or id that the catalogue or the samples do not hold."""


class FileTrouble(BadInput):
    """The workshop file cannot be opened, read or written as asked. The original stays as it was."""


def shown(text: str, most: int = 60) -> str:
    """Return what was typed, fit for a one-line message: printable, and cut to `most` characters.

    >>> shown("18/3 linen\x07"), shown("a" * 50, 8)
    ('18/3 linen?', 'aaaaaaa…')
    """
    plain = "".join(letter if letter.isprintable() else "?" for letter in text[: most + 1])
    return plain if len(plain) <= most else plain[: most - 1] + "…"
