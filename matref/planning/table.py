"""A table of a plan file: its path, what it is for, and its keys."""

from __future__ import annotations

from dataclasses import dataclass

from matref.planning.keys import Key


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the file: its path, what it is for, its keys."""

    path: str
    meaning: str
    keys: tuple[Key, ...]
    many: bool = False

    @property
    def heading(self) -> str:
        """The heading as TOML writes it."""
        return f"[[{self.path}]]" if self.many else f"[{self.path}]"

    def find(self, name: str) -> Key | None:
        """Return the key that goes by this name."""
        return next((key for key in self.keys if name in key.names), None)

    @property
    def names(self) -> tuple[str, ...]:
        """Every name understood in this table."""
        return tuple(name for key in self.keys for name in key.names)


def length_key(
    stem: str,
    meaning: str,
    example: str,
    default: str,
    *,
    low: float = 0.0,
    high: float = 1e6,
    zero: bool = False,
    also: tuple[str, ...] = (),
) -> Key:
    """Return the key of a length, mm; `zero`: none at all is a length too."""
    return Key(stem, "length", meaning, example, default, low=low, high=high, zero=zero, also=also)
