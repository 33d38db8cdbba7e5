"""What this machine can run: a browser, a PostgreSQL server."""

import os
import shutil


def missing(marker: str) -> tuple[str, bool]:
    """(why tests so marked cannot run here, or "" when they can; whether they were promised to run)."""
    if marker == "browser":
        found = shutil.which("chromium") or shutil.which("chromium-browser")
        reason = "" if found else "Chromium is not installed: install the package chromium."
        return reason, os.environ.get("AIRTRIM_REQUIRE_BROWSER") == "1"
    found = os.environ.get("AIRTRIM_POSTGRES")
    return "" if found else "AIRTRIM_POSTGRES=URL is not set: no PostgreSQL server.", False
