"""Arrays stored with the release and handed to physics, which reads no files."""

from airtrim.tables.refrigerants import NAMES, refrigerant

__all__ = ["NAMES", "refrigerant"]
