"""Fixtures: a workshop file of one's own."""

from personal_shop import fitted_file, other_shop, place, shop

__all__ = ["fitted_file", "other_shop", "place", "shop"]
