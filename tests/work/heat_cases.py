"""Jobs with one heat or another, and what is found of them; small samples."""

from dataclasses import replace
from functools import lru_cache
from typing import Any

from airtrim.job import new_job_text, parse_job
from airtrim.weather.files import embedded_weather
from airtrim.work.findings import Findings, find
from airtrim.work.options.candidates import Candidate, drive, fan_auto, leave_as_is, lower_tap

STRIP = 'kind = "electric_strip"        # electric_strip, furnace, heat_pump, none, unknown\nstrip_power = "10 kW"'


@lru_cache(maxsize=1)
def _house() -> Findings:
    return find(parse_job(new_job_text(), "x"), embedded_weather("greensboro-nc"), count=8, seed=3)


def found_with(heat: str, more: str = "", refrigerant: str = "R-410A", fan: str = "auto") -> Findings:
    """The new job's house (3 tons, 1,200 cfm on tap 1, 75 F) with these lines under [heat] and at the end.

    The sample is fitted once: neither heat nor drive moves it.
    """
    text = new_job_text()
    assert STRIP in text
    text = text.replace(STRIP, heat).replace(
        'coil_size = "3 tons"', f'coil_size = "3 tons"\nrefrigerant = "{refrigerant}"'
    )
    text = text.replace('fan = "auto"', f'fan = "{fan}"') + more
    job = parse_job(text, "x")
    return replace(_house(), job=job)


def tap_of(found: Findings) -> Candidate:
    return lower_tap(found, leave_as_is(found))


def drive_of(found: Findings) -> Candidate:
    return drive(found, leave_as_is(found), 0.7, 14.0)


def auto_of(found: Findings) -> Candidate:
    return fan_auto(found, leave_as_is(found))


def row(check: Any, identity: str, stage: int = 1) -> Any:
    return next(one for one in check.rows if one.id == identity and one.stage == stage)
