"""The command line: `matref COMMAND`."""

from matref.cli.app import main

__all__ = ["main"]
