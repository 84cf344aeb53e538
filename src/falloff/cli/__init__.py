"""The terminal: `falloff demo`, `falloff meter`, `falloff picture`."""

from falloff.cli.commands import main

__all__ = ["main"]
