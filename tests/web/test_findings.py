"""The findings page: stop signs above everything, what to read next, and how each figure was come by."""

import re

import pytest
from django.urls import reverse
from django.utils.html import escape

from airtrim.report.stops import CAUTION
from airtrim.report.words import say
from airtrim.report.workings import parts_of
from airtrim.web.models import Outcome, Shop

pytestmark = pytest.mark.django_db


def body(client, name, job):
    response = client.get(reverse(name, args=[job.pk]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def changed(change):
    outcome = Outcome.objects.get()
    change(outcome.result)
    outcome.save()
    return outcome.result


@pytest.mark.parametrize("page", ["findings", "options", "settings", "owner"])
@pytest.mark.parametrize("stop", ["carbon_monoxide", "bare_conductor", "frost"])
def test_a_stop_sign_stands_above_everything_with_its_caution(client, planned, page, stop):
    message = {"id": f"reading.stop.{stop}", "values": {}}
    changed(lambda result: result["findings"]["messages"].append(message))
    shown = body(client, page, planned)
    sign, caution = escape(say(f"reading.stop.{stop}")), escape(say(f"caution.{CAUTION[stop]}"))
    main = shown[shown.index("<main") :]
    assert main.count(sign) == 1 and main.index(sign) < main.index(caution)
    for later in ('class="next"', 'class="strips"', 'class="answer-box"', '<p class="lead">'):
        assert later not in main or main.index(caution) < main.index(later)
    if page != "owner":  # and the way on does not lead past it
        following = main[main.index('class="next"') : main.index('class="known"')]
        assert say("web.next.stop") in following and "<a " not in following and "<button" not in following


def test_without_a_stop_sign_nothing_is_framed(client, planned):
    assert 'class="stops"' not in body(client, "findings", planned)


def test_the_next_readings_stand_in_their_order_with_their_minutes(client, planned):
    def ask(result):
        result["findings"]["next_reading"] = {
            "list": [{"id": "return_at_grille", "minutes": 3.0}, {"id": "capacitor", "minutes": 6.0}],
            "why": "next_reading.most_per_minute",
        }

    changed(ask)
    shown = body(client, "findings", planned)
    first, second = (escape(say(f"next_reading.{name}")[1:]) for name in ("return_at_grille", "capacitor"))
    assert shown.index(first) < shown.index("(3 min)") < shown.index(second) < shown.index("(6 min)")
    assert shown.count(first) == 1, "said once, not among what may be wrong as well"
    assert reverse("readings", args=[planned.pk]) in shown[shown.index(first) :]


def test_where_no_reading_would_tell_more_it_says_so(client, planned):
    changed(lambda result: result["findings"].update(next_reading={"list": [], "why": "next_reading.enough"}))
    assert say("next_reading.enough") in body(client, "findings", planned)


@pytest.mark.parametrize("units", ["inch_pound", "si"])
def test_every_figure_found_shows_its_working(client, planned, units):
    Shop.objects.create(pk=1, units=units)
    result = Outcome.objects.get().result
    by_id = {one["id"]: one for one in result["workings"]}
    shown = body(client, "findings", planned)
    figures = [one for one in result["findings"]["figures"] if "mid" in one]
    assert shown.count(say("web.findings.how")) == len(figures)
    for one in figures:
        parts = parts_of(by_id[f"finding.{one['id']}"], units)
        assert " ".join(escape(parts["formula"]).split()) in shown and escape(parts["source"]) in shown
        assert all(f"<dt>{name}</dt><dd>{escape(value)}" in shown for name, value, _ in parts["inputs"])


def test_the_page_of_workings_holds_every_working_once_under_a_title(client, planned):
    result = Outcome.objects.get().result
    shown = body(client, "workings", planned)
    ids = re.findall(r'<p class="note">\(([a-z0-9_.]+)\)</p>', shown)
    assert sorted(ids) == sorted(one["id"] for one in result["workings"])
    titles = re.findall(r"<summary><h3>([^<]+)</h3><span>(\d+)</span>", shown)
    assert sum(int(count) for _, count in titles) == len(ids) and len({name for name, _ in titles}) == len(titles)
    assert any(name == say("working.group.setting") for name, _ in titles)


def test_a_plan_without_workings_and_a_job_without_a_plan_say_so(client, planned, job):
    changed(lambda result: result.pop("workings"))
    assert say("web.findings.none_kept") in body(client, "workings", planned)
    assert say("web.findings.how") not in body(client, "findings", planned).replace(
        say("web.findings.all_workings"), ""
    )
    Outcome.objects.all().delete()
    assert say("web.results.none") in body(client, "workings", planned)
