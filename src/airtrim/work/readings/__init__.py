"""Readings: what each says, how sure it is, what two of them say together, and what to ask about."""

from airtrim.work.readings.airflow import airflows
from airtrim.work.readings.answers import points_of, read_job

__all__ = ["airflows", "points_of", "read_job"]
