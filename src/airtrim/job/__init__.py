"""The job file: survey, readings, choices."""

from airtrim.job.checks import airflow_known, check_job
from airtrim.job.files import json_schema, load_job, parse_job
from airtrim.job.model import Job
from airtrim.job.template import new_job_text

__all__ = ["Job", "airflow_known", "check_job", "json_schema", "load_job", "new_job_text", "parse_job"]
