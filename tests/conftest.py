"""Fixtures shared by all tests."""

from small_data import small_data

__all__ = ["small_data"]
