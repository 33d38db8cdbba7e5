"""The options page: ranked by any aim from what the plan kept, with what speaks against each option."""

import re

import pytest
from django.urls import reverse

from airtrim.report.words import label, say
from airtrim.web.models import Outcome, WorkItem
from airtrim.work.options.ranking import AIMS, rank

pytestmark = pytest.mark.django_db


def body(response):
    return " ".join(response.content.decode().split())


def page_by(client, job, aim="", **headers):
    return client.get(reverse("options", args=[job.pk]), {"aim": aim} if aim else {}, headers=headers)


def names_of(page):
    """Options of the ranking in the order shown."""
    part = page[page.index('id="ranked"') :].split("</section>")[0]
    return re.findall(r'<span class="who">([^<]+)</span>', part)


@pytest.mark.parametrize("aim", AIMS)
def test_an_aim_reorders_what_the_plan_kept_and_computes_nothing(client, planned, aim):
    """The order is that of `rank`, the pure function of the result; grouped, so within what serves the aim."""
    from airtrim.report.ranking import option_named

    result = Outcome.objects.get().result
    ranking = rank(result, aim)
    page = body(page_by(client, planned, aim))
    names = names_of(page)
    serves = [
        option_named(result, row["id"])
        for row in ranking["order"]
        if row["safe"] and (row["id"] == ranking["recommended"] or row["helps" if aim == "cheap_to_buy" else "enough"])
    ]
    assert names[0] == option_named(result, ranking["recommended"])
    assert [name for name in names if name in serves][: len(serves)] == serves
    assert len(names) == len(set(names)) == len(result["screening"]["options"])
    assert f'value="{aim}" checked' in page and "worked out for version 1" not in page
    assert not WorkItem.objects.filter(kind="plan").exists() and Outcome.objects.count() == 1


def test_without_script_and_with_it_the_same_ranking(client, planned):
    whole, part = page_by(client, planned, "quiet"), page_by(client, planned, "quiet", **{"HX-Request": "true"})
    inside = body(part)
    assert inside.startswith('<div id="ranked"') and inside in body(whole) and "<nav" not in inside


def test_every_gain_has_a_unit_and_a_range(client, planned):
    """Leaving it alone gains nothing against itself: it alone has no range."""
    page = body(page_by(client, planned))
    part = page[page.index('id="ranked"') :].split("</section>")[0]
    rows = re.findall(r'<span class="who">([^<]+)</span>.*?<span class="value">([^<]+)<small> ([^<]*)</small></span>'
                      r'<span class="ends">([^<]*)</span>', part)  # fmt: skip
    assert len(rows) == len(names_of(page))
    for name, _, unit, ends in rows:
        assert unit == "h a year", name
        assert (" to " in ends) != (name == label("leave_as_is", "option")), name
    assert part.count("of the systems.") == len(rows)


def test_a_struck_out_option_names_its_limit_with_figure_and_bound(client, planned):
    outcome = Outcome.objects.get()
    broken = [one for one in outcome.result["screened"] if not one["safe"]]
    assert broken, "the example strikes out the reduced voltage (winding, coil)"
    page = body(page_by(client, planned))
    for one in broken:
        for limit in (each for each in one["limits"] if each["status"] == "fail"):
            name = label(limit["id"], "limit")
            assert f"{name[0].lower()}{name[1:]}, " in page
            if limit["bound"] is not None:
                assert re.search(rf"{re.escape(name[1:])}, [^;]+ \([^)]+ to [^)]+\); at (least|most)", page)
    assert page.count("struck out by:") == len(broken)


def test_what_the_confirmation_struck_out_is_never_recommended_by_another_aim(client, planned):
    outcome = Outcome.objects.get()
    first = rank(outcome.result, "quiet")["recommended"]
    confirmed = next(one for one in outcome.result["options"] if one["id"] == first)
    confirmed["safe"] = False
    confirmed["limits"][0]["status"] = "fail"
    from airtrim.work.options.ranking import every_ranking

    outcome.result["rankings"] = every_ranking(outcome.result)
    assert outcome.result["rankings"]["quiet"]["recommended"] != first
    assert not next(row for row in outcome.result["rankings"]["quiet"]["order"] if row["id"] == first)["safe"]
    outcome.save()
    page = body(page_by(client, planned, "quiet"))
    assert names_of(page)[0] != label(first, "option")
    assert page.index(say("web.options.struck")) < page.index(f'<span class="who">{label(first, "option")}</span>')


def test_dominated_options_and_pairs_that_cannot_be_told_apart_are_said(client, planned):
    outcome = Outcome.objects.get()
    first, other = outcome.result["ranking"]["order"][:2]
    other["dominated_by"] = first["id"]
    pair = {"options": [first["id"], other["id"]], "reading": "airflow"}
    outcome.result["ranking"]["cannot_tell"] = [pair]
    outcome.result["rankings"]["dry"]["cannot_tell"] = []
    outcome.save()
    page = body(page_by(client, planned))
    one, two = label(first["id"], "option"), label(other["id"], "option")
    assert f"{one} is no dearer and no worse in anything" in page
    assert f"{one} and {two} cannot be told apart here; reading the airflow a second way would" in page
    for aim in (one for one in AIMS if one != "dry"):  # by another aim its own pairs
        page = body(page_by(client, planned, aim))
        assert page.count("cannot be told apart here") == len(rank(outcome.result, aim)["cannot_tell"])


def test_an_unknown_aim_is_said_in_a_sentence(client, planned):
    response = page_by(client, planned, "<script>alert(1)</script>")
    page = body(response)
    assert (
        response.status_code == 422 and "is not known; use one of: dry, quiet" in page and "<script>alert" not in page
    )
    assert 'value="dry" checked' in page


def test_a_plan_kept_before_other_aims_were_says_so(client, planned):
    outcome = Outcome.objects.get()
    for name in ("rankings", "screening"):
        del outcome.result[name]
    del outcome.result["ranking"]["figure"]
    outcome.save()
    page = body(page_by(client, planned))
    assert say("web.options.no_other_aim") in page and 'name="aim"' not in page
