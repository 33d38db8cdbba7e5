"""Refrigerants met in the field: saturation both ways, superheat, subcooling, the cold inlet of a blend's coil."""

from airtrim.physics.refrigerant.table import Refrigerant, RefrigerantTable

__all__ = ["Refrigerant", "RefrigerantTable"]
