"""Outside the envelope the model was checked on (40 to 130 % of rated airflow, 60 to 115 F outdoors, 55 to 75 F wet-bulb): said
plainly, and wider."""

import pytest

from airtrim.job import new_job_text, parse_job
from airtrim.report.map import wider_sentences
from airtrim.report.sentences import sentence
from airtrim.weather.files import embedded_weather
from airtrim.work.airflow_map import airflow_map
from airtrim.work.findings import find
from airtrim.work.findings.observed import observed

READ = (
    'airflow = "{airflow} cfm"\nreturn_dry_bulb = "76 F"\nreturn_wet_bulb = "{wet} F"\noutdoor_dry_bulb = "{out} F"\n'
)
READ += 'saturated_suction = "{suction} F"\nsuperheat = "10 F"\n'


def job_of(airflow=1200, wet=63, out=90, suction=44):
    read = READ.format(airflow=airflow, wet=wet, out=out, suction=suction)
    return parse_job(new_job_text().replace('airflow = "1200 cfm"', read), "x")


def found_of(job):
    return find(job, embedded_weather("greensboro-nc"), count=4, seed=2)


def told(found):
    return [sentence(one) for one in found.messages if one["id"].startswith("finding.outside_")]


def sigma(job):
    return next(one.model_sigma for one in observed(job, 101325.0).rows if one.kind == "suction")


@pytest.mark.parametrize(
    ("outside", "words"),
    [
        ({"out": 119}, "119.0 °F outdoors is outside the 60.0 °F to 115.0 °F"),
        ({"wet": 52}, "wet-bulb of 52.0 °F is outside the 55.0 °F to 75.0 °F"),
        ({"airflow": 1560}, "The blower moves 1,560 cfm, outside the 460 cfm to 1,510 cfm"),
    ],
)
def test_a_reading_outside_the_envelope_is_said_and_counts_less(outside, words):
    job = job_of(**outside)
    assert any(words in one for one in told(found_of(job)))
    assert sigma(job) == 2.0 * sigma(job_of())


def test_inside_nothing_is_said():
    found = found_of(job_of())
    assert told(found) == []
    assert wider_sentences(airflow_map(found, None)) == []


def test_the_map_is_wider_where_the_airflow_is_outside_and_says_from_where():
    """At 880 cfm on 3 tons the map's low end, 42 % of that, lies under 40 % of rated (463 cfm)."""
    picture = airflow_map(found_of(job_of(airflow=880)), None)
    assert wider_sentences(picture)[0].startswith("Below 460 cfm less sure")
    one = next(one for one in picture["series"] if one["id"] == "saturated_suction")
    spread = [high - low for low, high in zip(one["lows"], one["highs"], strict=True)]
    first_inside = next(i for i, x in enumerate(one["x"]) if x > picture["wider_below"])
    assert spread[first_inside - 1] > 1.7 * spread[first_inside]


@pytest.mark.parametrize("per_ton", [130, 510])
def test_airflows_met_in_the_field_are_taken_and_the_ends_flagged(per_ton):
    """130 to 510 cfm a ton were found in 27 systems [fsec-pf-321]."""
    assert any("outside the 460 cfm to 1,510 cfm" in one for one in told(found_of(job_of(airflow=3 * per_ton))))
