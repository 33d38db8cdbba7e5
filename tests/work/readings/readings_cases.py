"""Jobs for the tests of the readings: text in, points out."""

from airtrim.job import parse_job
from airtrim.job.model import Job
from airtrim.work.readings import points_of
from airtrim.work.readings.point import Point

BASE = """airtrim_job = 1
name = "test"
[house]
place = "Greensboro, NC"
floor_area = "1650 ft2"
year_built = 1988
altitude = "0 ft"
[system]
outdoor_size = "3 tons"
coil_size = "3 tons"
SYSTEM
[heat]
kind = "HEAT"
[thermostat]
set_point = "75 F"
fan = "auto"
[complaint]
kinds = ["damp"]
[blower]
tap_in_use = 1
BLOWER
"""
CFM = 0.0004719474432
BTU_H = 0.29307107
F = 1.0 / 1.8
FAN_TABLE = """
[[blower.fan_table]]
tap = 1
static = "0.4 inH2O"
airflow = "1460 cfm"
[[blower.fan_table]]
tap = 1
static = "0.8 inH2O"
airflow = "1180 cfm"
"""


def job_with(*readings: str, system: str = "", blower: str = "", heat: str = "electric_strip", more: str = "") -> Job:
    """A job of a 3 ton system with these readings."""
    text = BASE.replace("SYSTEM", system).replace("BLOWER", blower).replace("HEAT", heat) + more
    return parse_job(text + "".join(f"\n[[readings]]\n{one}\n" for one in readings), "x.toml")


def point_with(reading: str, **more: str) -> Point:
    """The only point of such a job."""
    return points_of(job_with(reading, **more))[0]


def figure_of(figures, identity):
    return next(one for one in figures if one["id"] == identity)


def ids(messages):
    return [one["id"].removeprefix("reading.") for one in messages]
