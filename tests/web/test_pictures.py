"""Pictures of a plan: which are drawn, asked for once, and what stands beside each."""

from datetime import timedelta

import pytest
from django.urls import reverse

from airtrim.report.pictures import page_pictures, wanted
from airtrim.web import keeping
from airtrim.web.models import Outcome, WorkItem
from tests.plans import demo_result

pytestmark = pytest.mark.django_db


def without_a_recommendation():
    result = demo_result()
    result["recommendation"] = {"option": "leave_as_is", "why": {"id": "recommendation.leave", "values": {}}}
    return result


def without_months():
    result = demo_result()
    for option in result["options"]:
        option.pop("monthly_relative_humidity", None)
    return result


@pytest.mark.parametrize("result", [demo_result, without_a_recommendation, without_months])
@pytest.mark.parametrize("units", ["inch_pound", "si"])
def test_what_is_wanted_is_what_is_drawn(result, units):
    assert tuple(page_pictures(result(), units, 250)) == wanted(result())


def test_a_name_fits_its_column():
    from airtrim.web.models import Picture

    longest = Picture._meta.get_field("name").max_length
    assert all(len(name) <= longest for name in wanted(demo_result()))


def asked(client, job, page="options"):
    assert client.get(reverse(page, args=[job.pk])).status_code == 200
    return WorkItem.objects.filter(kind="pictures").count()


def test_a_picture_that_cannot_be_drawn_is_not_asked_for(client, planned):
    """Else a page would put in the work, see it end, show itself anew, and put it in again."""
    outcome = Outcome.objects.get()
    outcome.result = without_months()
    outcome.save()
    asked(client, planned)
    item = WorkItem.objects.filter(kind="pictures").first()
    if item is not None:
        item.state = WorkItem.DONE
        item.save()
    assert "months" not in wanted(outcome.result)
    before = asked(client, planned)
    assert asked(client, planned) == before
    assert not WorkItem.objects.filter(kind="pictures", state=WorkItem.QUEUED).exists()


@pytest.mark.parametrize("state", [WorkItem.FAILED, WorkItem.CANCELLED, WorkItem.DONE])
def test_drawing_that_ended_is_repeated_only_after_a_while(client, planned, state):
    from django.utils import timezone

    assert asked(client, planned, "findings") == 1
    WorkItem.objects.update(state=state, sentence="It broke.", finished=timezone.now())
    assert asked(client, planned, "findings") == 1
    shown = client.get(reverse("findings", args=[planned.pk])).content.decode()
    assert ("It broke." in shown) == (state == WorkItem.FAILED)
    WorkItem.objects.update(finished=timezone.now() - keeping.AGAIN - timedelta(seconds=1))
    assert asked(client, planned, "findings") == (1 if state == WorkItem.DONE else 2)


def test_a_page_joins_paths_of_a_kind_and_nothing_else():
    """What is drawn stays: every outline, each in its own colour and its own group."""
    from airtrim.web.pictures import for_page

    head = '<svg xmlns="http://www.w3.org/2000/svg" class="marks" width="9" height="9" viewBox="0 0 9 9">'
    cells = [("M0,0h1v1Z", "#111111"), ("M1.33333,0h1v1Z", "#111111"), ("M2,0h1v1Z", "#222222")]
    inside = "".join(f'<path d="{outline}" fill="{colour}"/>' for outline, colour in cells)
    made = for_page(
        f'{head}<g>{inside}</g><g><path d="M3,0h1" fill="#222222"/></g><text x="1">1.23456 cfm</text></svg>'
    )
    assert made.count("<path") == 3 and '<path d="M0,0h1v1ZM1.33,0h1v1Z" fill="#111111"/>' in made
    assert '<path d="M2,0h1v1Z" fill="#222222"/></g><g><path d="M3,0h1" fill="#222222"/></g>' in made
    assert "1.23456 cfm" in made
