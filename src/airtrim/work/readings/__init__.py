"""Readings: what each says, how sure it is, what two of them say together, and what to ask about."""

from airtrim.work.readings.airflow import airflows
from airtrim.work.readings.answers import SEA_LEVEL_PA, points_of, read_job
from airtrim.work.readings.for_fit import job_for_fit, known_airflow

__all__ = ["SEA_LEVEL_PA", "airflows", "job_for_fit", "known_airflow", "points_of", "read_job"]
