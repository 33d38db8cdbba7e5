"""A job small enough to search in a test: a drive, few systems, few steps."""

from functools import lru_cache
from pathlib import Path
from typing import Any

from airtrim.job import read_document
from airtrim.work.findings import find
from airtrim.work.options.candidates import leave_as_is
from airtrim.work.settings.scenarios import COLD, TYPICAL, Years
from airtrim.work.settings.search import Effort
from airtrim.work.weather import weather_of

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "alder-court" / "job.toml"
#: Few steps, so that every setting can be tried: 7 frequencies, 6 coil sensor drops.
CARD = {
    "airtrim_card": 1,
    "kind": "speed_control_by_frequency",
    "name": "small drive",
    "settings": {
        "frequency": {"low": "42 Hz", "high": "60 Hz", "step": "3 Hz"},
        "coil_sensor_drop": {"low": "20 F", "high": "30 F", "step": "2 F"},
    },
    "sensors": [{"kind": "coil_temperature", "accuracy": "2 F"}, {"kind": "return_temperature", "accuracy": "2 F"}],
}
SMALL = Effort(3, 8, 2, 4, 2, (TYPICAL,), (TYPICAL, COLD))


@lru_cache(maxsize=4)
def prepared(listed: str = "") -> tuple[Any, Any, Any]:
    """(findings, leaving it alone, years) of the example with the small card and no oversized coil."""
    document = read_document(EXAMPLE).with_value("system.coil_size", "2.5 tons")
    document = document.with_value("options.cards", [CARD])
    if listed:
        document = document.with_value("system.least_listed_airflow", listed)
    job = document.job
    weather = weather_of(job)
    found = find(job, weather, 8)
    return found, leave_as_is(found), Years(weather, weather, weather)
