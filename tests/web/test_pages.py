"""Every page answers, says where the job stands, and takes bad input in words without losing it."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from airtrim.web import draft, selectors, services
from airtrim.web.models import Instrument, Shop
from tests.plans import EXAMPLE

pytestmark = pytest.mark.django_db
STEPS = ("survey", "readings", "findings", "options", "settings", "papers")
HOSTILE = (
    "<script>alert(1)</script>",
    "'; DROP TABLE web_job; --",
    "{{ 7*7 }}{% load x %}",
    '" onfocus=alert(1) x="',
    "\x00null",
    "\U0001f600 ünïcode \u202e",
)


def body(response):
    return response.content.decode()


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("stage", ["empty", "complete", "planned"])
def test_every_page_shows_what_is_known_what_is_missing_and_what_next(client, request, step, stage):
    job = (
        services.create_job("New", "Ana")
        if stage == "empty"
        else request.getfixturevalue("job" if stage == "complete" else "planned")
    )
    response = client.get(reverse(step, args=[job.pk]))
    page = body(response)
    assert response.status_code == 200
    assert page.index('class="next"') < page.index('class="known"') < page.index('class="missing"')
    known = re.search(r"Known: (\d) of 8", page).group(1)
    assert known == ("0" if stage == "empty" else "8")
    assert 'aria-current="page"' in page and page.count("<h1>") == 1
    assert " style=" not in page and "onclick" not in page and "<style" not in page


def test_what_a_first_answer_needs_is_unfolded(client):
    page = body(client.get(reverse("survey", args=[services.create_job("New", "Ana").pk])))
    assert '<details class="section" id="s-first" open>' in page and 'id="s-house" open' not in page


def test_the_owner_page_carries_the_letterhead(client, planned):
    client.post(reverse("shop_letterhead"), {"firm": "Nine Pines Air", "address": "", "telephone": "", "licence": ""})
    page = body(client.get(reverse("owner", args=[planned.pk])))
    assert "Nine Pines Air" in page and "Recommended" in page and "Cautions" in page
    assert 'id="p-hours"' in page


def test_the_pdf_is_asked_for_and_kept_under_the_letterhead_of_the_moment(client, planned):
    """Changed, the paper made before is no longer offered; changed back, it is."""
    from airtrim.web import keeping, tasks
    from airtrim.web.models import WorkItem

    def head(firm):
        client.post(reverse("shop_letterhead"), {"firm": firm, "address": "12 Mill Road", "licence": "NC 30412"})

    head("Nine Pines Air")
    client.post(reverse("make_paper", args=[planned.pk]))
    (item,) = WorkItem.objects.filter(kind="paper")
    head("Two Oaks")  # while the first is still waiting
    keeping.keep(item, tasks.run(item.kind, keeping.arguments_of(item), lambda _: None))
    assert client.get(reverse("pdf", args=[planned.pk])).status_code == 302
    head("Nine Pines Air")
    import pypdfium2

    taken = client.get(reverse("pdf", args=[planned.pk]))
    first = " ".join(pypdfium2.PdfDocument(taken.content)[0].get_textpage().get_text_range().split())
    assert all(text in first for text in ("Nine Pines Air", "12 Mill Road", "NC 30412")) and "Two Oaks" not in first


def put(client, job, page="survey", htmx=True, **values):
    place = values.pop("place")
    data = {f"v:{place}": values["value"], f"w:{place}": values.get("was", "")}
    if "unit" in values:
        data[f"u:{place}"] = values["unit"]
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse(f"set_{page}", args=[job.pk]), data, headers=headers)


def value(job, place):
    job.refresh_from_db()
    return draft.read(selectors.newest(job).text).value(place)


def test_a_value_is_kept_with_the_unit_typed_and_the_top_of_the_page_moves(client):
    job = services.create_job("New", "Ana")
    page = body(put(client, job, place="house.floor_area", value="153.5", unit="m2"))
    assert value(job, "house.floor_area") == "153.5 m2"
    assert 'value="153.5 m2"' in page and "Known: 1 of 8" in page and 'hx-swap-oob="true"' in page


def test_a_refused_value_is_kept_in_the_form_with_one_sentence(client, job):
    before = value(job, "house.floor_area")
    response = put(client, job, htmx=False, place="house.floor_area", value="3", unit="ft2", was=before)
    page = body(response)
    assert response.status_code == 422 and value(job, "house.floor_area") == before
    field = page[page.index('id="f-house-floor-area"') : page.index("</form>", page.index('id="f-house-floor-area"'))]
    assert 'value="3"' in field and "must lie in" in field and field.count('class="wrong"') == 1


def test_without_script_a_form_leads_back_to_its_place(client, job):
    response = put(client, job, htmx=False, place="house.people", value="5", was="4")
    assert response.status_code == 302 and response.url.endswith("#f-house-people") and value(job, "house.people") == 5


def test_a_clash_is_shown_with_both_values(client, job):
    put(client, job, place="house.people", value="5", was="4")
    page = body(put(client, job, place="house.people", value="6", was="4"))
    assert "Two people wrote here" in page and value(job, "house.people") == 5
    assert 'name="w:house.people" value="5"' in page


def test_a_decimal_comma_is_not_taken_for_thousands(client, job):
    page = body(
        put(
            client,
            job,
            "readings",
            place="readings.1.total_external_static",
            value="0,62",
            unit="inH2O",
            was="0.44 inH2O",
        )
    )
    assert "with a point" in page and value(job, "readings.1.total_external_static") == "0.44 inH2O"


@pytest.mark.parametrize("text", HOSTILE)
def test_script_and_sql_in_a_text_are_shown_as_text(client, job, text):
    put(client, job, place="complaint.words", value=text, was=value(job, "complaint.words"))
    put(client, job, place="name", value=text, was=job.name)
    from django.utils.html import escape

    shown = escape(" ".join(text.replace("\x00", "").split()))
    for step in STEPS:
        page = body(client.get(reverse(step, args=[job.pk])))
        assert shown in " ".join(page.split())
        assert "<script>alert" not in page and '" onfocus=' not in page
    assert body(client.get(reverse("jobs"), {"q": text})).count("<script>alert") == 0
    assert selectors.jobs("", 1).jobs


@pytest.mark.parametrize(
    "place", ["nonsense", "house", "house.nonsense", "readings.9.airflow", "__class__.x", "readings.x.airflow"]
)
def test_a_forged_place_is_refused_in_a_sentence(client, job, place):
    before = job.latest
    response = put(client, job, place=place, value="1")
    job.refresh_from_db()
    assert response.status_code == 422 and job.latest == before


def test_forged_identifiers_find_nothing(client, planned):
    for path in ("/job/1/survey/", "/job/00000000-0000-0000-0000-000000000000/survey/", "/job/x'/survey/", "/nothing/"):
        response = client.get(path)
        assert response.status_code == 404 and "nothing at this address" in body(response)
    assert client.get(reverse("version_file", args=[planned.pk, 99])).status_code == 404


def test_foreign_hosts_forged_forms_and_long_posts_are_refused(job):
    strict = Client(enforce_csrf_checks=True)
    assert strict.get("/", headers={"host": "elsewhere.example"}).status_code == 400
    assert strict.post(reverse("undo", args=[job.pk])).status_code == 403
    assert Client().post(reverse("new"), {"name": "x" * 1_100_000}).status_code == 413
    job.refresh_from_db()
    assert job.latest == 1


def test_the_policy_allows_nothing_inline(client):
    policy = client.get("/")["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy


def test_a_job_file_goes_in_and_out_to_the_letter(client):
    from django.core.files.uploadedfile import SimpleUploadedFile

    given = EXAMPLE.read_bytes()
    response = client.post(reverse("bring_in"), {"file": SimpleUploadedFile("job.toml", given)})
    (job,) = selectors.jobs("", 1).jobs
    assert response.status_code == 302
    taken = client.get(reverse("job_file", args=[job.pk]))
    assert taken.content == given and "attachment" in taken["Content-Disposition"]
    broken = client.post(reverse("bring_in"), {"file": SimpleUploadedFile("x.toml", b"\xff\xfe")})
    assert broken.status_code == 422 and "no text in UTF-8" in body(broken)


def test_history_compares_undoes_and_goes_back(client, job):
    put(client, job, place="house.people", value="5", was="4")
    page = body(client.get(reverse("compare", args=[job.pk]), {"before": "1", "after": "2"}))
    assert "<td>4</td><td>5</td>" in page and "-people = 4" in page.replace("- people", "-people")
    client.post(reverse("undo", args=[job.pk]), {"page": "survey"})
    assert value(job, "house.people") == 4
    client.post(reverse("restore", args=[job.pk, 2]))
    assert value(job, "house.people") == 5 and "back to version 2" in body(client.get(reverse("papers", args=[job.pk])))


def test_asking_for_the_plan_queues_it_and_shows_how_far_it_is(client, job):
    from airtrim.web.models import WorkItem

    client.post(reverse("compute", args=[job.pk]))
    client.post(reverse("compute", args=[job.pk]))
    (item,) = WorkItem.objects.all()
    assert "Being worked out" in body(client.get(reverse("findings", args=[job.pk])))
    assert client.get(reverse("work", args=[item.pk])).status_code == 200
    client.post(reverse("cancel", args=[item.pk]))
    ended = client.get(reverse("work", args=[item.pk]))
    assert ended.status_code == 286 and ended["HX-Refresh"] == "true"


def test_a_plan_older_than_its_document_says_so(client, planned):
    put(client, planned, place="house.people", value="5", was="4")
    page = body(client.get(reverse("options", args=[planned.pk])))
    assert "worked out for version 1" in page and "Work it out again" in page
    put(client, planned, place="house.people", value="4", was="5")  # back: the same values, the same plan
    assert "worked out for version 1" not in body(client.get(reverse("options", args=[planned.pk])))


def test_every_picture_has_words_and_a_table(client, planned):
    from airtrim.web import pictures
    from airtrim.web.models import Outcome, Picture

    head = '<svg xmlns="http://www.w3.org/2000/svg" class="marks" width="9" height="9" viewBox="0 0 9 9">'
    svg = head + '<path aria-label="x" role="y" d="M0 0"/></svg>'
    for name in ("map", "months"):
        for width in (250, 520):
            Picture.objects.create(
                outcome=Outcome.objects.get(), name=name, units="inch_pound", width=width, svg=pictures.for_page(svg)
            )
    page = body(client.get(reverse("findings", args=[planned.pk])))
    assert page.count('role="img"') == 2 and "Saturated suction goes from" in page
    assert page.count("<tr>") > 10 and 'aria-label="x"' not in page


def test_the_shop_keeps_what_holds_for_all_jobs(client):
    client.post(reverse("shop_units"), {"units": "si", "paper": "a4"})
    client.post(reverse("shop_tariff"), {"price_per_kwh": "0.15", "currency": "USD"})
    client.post(reverse("shop_instrument"), {"name": "Flow hood", "accuracy": "7", "checked": "2026-04-01"})
    shop = Shop.objects.get()
    assert (shop.units, shop.paper, shop.price_per_kwh) == ("si", "a4", "0.15")
    assert Instrument.objects.get().accuracy == "7 %"
    job = services.create_job("New", "Ana")
    assert value(job, "tariff.price_per_kwh") == 0.15
    page = body(client.get(reverse("survey", args=[job.pk])))
    area = page[page.index('id="f-house-floor-area"') :]
    assert '<option value="m2" selected>' in area[: area.index("</form>")]


@pytest.mark.parametrize(
    ("part", "sent", "says"),
    [
        ("tariff", {"price_per_kwh": "cheap", "currency": "USD"}, "A number is needed"),
        ("tariff", {"price_per_kwh": "99", "currency": "USD"}, "At most 5"),
        ("instrument", {"name": "", "accuracy": "7"}, "A name is needed"),
        ("instrument", {"name": "Hood", "accuracy": "700"}, "must lie in"),
        ("instrument", {"name": "Hood", "accuracy": "7", "checked": "soon"}, "A day is needed"),
        ("letterhead", {"firm": "x" * 200}, "At most 120"),
        ("units", {"units": "cubits", "paper": "a4"}, "Choose one"),
    ],
)
def test_a_wrong_setting_is_said_at_its_field_and_kept_as_typed(client, part, sent, says):
    response = client.post(reverse(f"shop_{part}"), sent)
    page = body(response)
    assert response.status_code == 422 and says in page
    assert all(
        f'value="{text}"' in page for key, text in sent.items() if text and key not in ("units", "paper", "checked")
    )
