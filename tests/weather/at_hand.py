"""Further weather files for those who have them: AIRTRIM_WEATHER=DIR."""

import os
from pathlib import Path

import pytest

#: Station of the table and its NREL TMY3 file.
FILES_AT_HAND = {
    "722230": "AL-Mobile_Regional_Ap.tmy3",
    "722780": "AZ-Phoenix_Sky_Harbor_Intl_Ap.tmy3",
    "725650": "CO-Denver_Intl_Ap.tmy3",
    "722060": "FL-Jacksonville_Intl_Arpt.tmy3",
    "722110": "FL-Tampa_International_Ap.tmy3",
    "722070": "GA-Savannah_Intl_Ap.tmy3",
    "912120": "GU-Guam_Wfo.tmy3",
    "726060": "ME-Portland_Intl_Jetport.tmy3",
    "722080": "SC-Charleston_Intl_Arpt.tmy3",
}


def more_weather(name: str) -> Path:
    """The file of that name, or the test is skipped and counted."""
    folder = os.environ.get("AIRTRIM_WEATHER")
    if not folder:
        pytest.skip("AIRTRIM_WEATHER=DIR is not set: no further weather files")
    path = Path(folder) / name
    if not path.is_file():
        pytest.skip(f"AIRTRIM_WEATHER has no {name}")
    return path
