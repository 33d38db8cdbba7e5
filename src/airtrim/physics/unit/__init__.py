"""The cooling unit: its state in balance and surfaces fitted to it."""

from airtrim.physics.unit.fields import UNIT_FIELDS

__all__ = ["UNIT_FIELDS"]
