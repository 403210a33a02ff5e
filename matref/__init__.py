"""Reference data and estimates for notebooks made from salvaged paper, cloth and card."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matref.api import Workshop, open

__all__ = ["Workshop", "open"]


def __getattr__(name: str) -> Any:
    """Import the API when it is first asked for, so that `import matref` costs nothing."""
    if name in __all__:
        from matref import api

        return getattr(api, name)
    raise AttributeError(f"module 'matref' has no attribute '{name}'")
