"""The job file: survey, readings, choices."""

from airtrim.job.checks import airflow_known, check_job
from airtrim.job.document import JobDocument, job_text, read_document
from airtrim.job.files import json_schema, load_job, parse_job
from airtrim.job.model import Job
from airtrim.job.template import new_job_text

__all__ = [
    "Job",
    "JobDocument",
    "airflow_known",
    "check_job",
    "job_text",
    "json_schema",
    "load_job",
    "new_job_text",
    "parse_job",
    "read_document",
]
