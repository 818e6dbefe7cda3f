"""The `treadle` command: a thin door that reads files, calls the core and prints."""

from treadle.cli.app import main

__all__ = ["main"]
