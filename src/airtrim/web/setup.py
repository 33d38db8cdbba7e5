"""Django made ready for a command that only needs the database."""

import os
from pathlib import Path


def with_database(data: Path | None = None) -> None:
    """Set Django up on the data folder `data` (the usual one if None) and bring its tables up to date."""
    if data is not None:
        os.environ["AIRTRIM_DATA"] = str(data.resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "airtrim.web.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)
