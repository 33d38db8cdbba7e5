"""Shared by the web tests: static files without a manifest, the example job in the database, a plan of few systems."""

import pytest

from tests.plans import EXAMPLE, demo_result

EIGHT = {
    "house.place": "Greensboro, NC",
    "house.floor_area": "1650 ft2",
    "house.year_built": 1988,
    "system.outdoor_size": "3 tons",
    "heat.kind": "electric_strip",
    "thermostat.set_point": "75 F",
    "complaint.kinds": ["damp"],
    "readings.1.airflow": "1200 cfm",
}


@pytest.fixture(autouse=True)
def plain_static_files(settings):
    settings.STORAGES = {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}


@pytest.fixture
def job(db):
    from airtrim.web import services

    return services.import_job(EXAMPLE.read_text(), "Ana")


@pytest.fixture
def planned(job):
    """The example job with its plan, without pictures."""
    from airtrim.web import draft, selectors
    from airtrim.web.models import Outcome

    found = draft.read(selectors.newest(job).text).job
    Outcome.objects.create(job=job, key=selectors.plan_key(found), version=1, result=demo_result())
    return job
