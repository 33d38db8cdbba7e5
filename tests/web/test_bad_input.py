"""Bad input at every door: script and SQL in every field, posts too long, forged identifiers, foreign hosts.

What must hold each time: an answer that is no 500, a line in the log where something was refused, and the jobs unharmed.
"""

import html
import logging
import re
import tomllib
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from airtrim.web import selectors, services
from airtrim.web.models import Instrument, Job, JobVersion, Shop
from tests.plans import EXAMPLE

pytestmark = pytest.mark.django_db
#: Script, attribute breaking, SQL, templates, TOML and Typst breaking, null, direction marks: all in one text.
HOSTILE = (
    "<script>alert(1)</script>\" onfocus=alert(1) x=' OR '1'='1'; DROP TABLE web_job; -- "
    '{{ 7*7 }}{% load x %} """ ]] [a] \\u0000 \x00 #panic("x") $x$ \u202e \U0001f600'
)
STEPS = ("survey", "readings", "findings", "options", "settings", "papers")
LONG = "x" * 1_100_000


@pytest.fixture
def told(caplog):
    """What airtrim's own log said; it does not hand on to the root, where caplog listens."""
    logger = logging.getLogger("airtrim.web")
    logger.addHandler(caplog.handler)
    yield caplog
    logger.removeHandler(caplog.handler)


def newest(job):
    """The newest version in the database, whatever the object at hand remembers."""
    return selectors.newest(selectors.job(job.pk))


def body(response):
    return response.content.decode()


def unharmed(client, job):
    """Every page of the job answers, nothing hostile stands in it as markup, and the document can be read."""
    for step in STEPS:
        response = client.get(reverse(step, args=[job.pk]))
        page = body(response)
        assert response.status_code == 200, step
        assert "<script>alert" not in page and "onfocus=alert(1) x=" not in html_attributes(page), step
    tomllib.loads(newest(job).text)
    assert Job.objects.filter(pk=job.pk).exists()


def html_attributes(page):
    """The inside of every tag, without what stands in quotes there."""
    return " ".join(re.sub(r'"[^"]*"', "", tag) for tag in re.findall(r"<[a-z][^>]*>", page))


def fields(client, job, step):
    """Names of what can be sent from a page: its fields' places, as the page itself has them."""
    page = body(client.get(reverse(step, args=[job.pk])))
    return sorted(set(re.findall(r'name="v:([^"]+)"', page)))


@pytest.mark.slow
@pytest.mark.parametrize("step", ["survey", "readings"])
def test_script_and_sql_in_every_field_of_a_job(client, job, step):
    names = fields(client, job, step)
    assert len(names) > 40
    url, kept = reverse(f"set_{step}", args=[job.pk]), 0
    for name in names:
        for headers in ({"HX-Request": "true"}, {}):
            before = newest(job).number
            was = re.search(
                rf'name="w:{re.escape(name)}" value="([^"]*)"', body(client.get(reverse(step, args=[job.pk])))
            )
            sent = {f"v:{name}": HOSTILE, f"w:{name}": html.unescape(was.group(1)) if was else "", f"u:{name}": HOSTILE}
            response = client.post(url, sent, headers=headers)
            page = body(response)
            assert response.status_code in (200, 302, 422), (name, page[:200])
            assert "<script>alert" not in page and "Traceback" not in page, name
            assert "onfocus=alert(1) x=" not in html_attributes(page), name
            after = newest(job)
            kept += after.number > before
            if response.status_code == 422:
                assert after.number == before, name
    assert kept >= (step == "survey")  # what asks for words keeps them as words
    unharmed(client, job)
    assert JobVersion.objects.count() == newest(job).number


def test_script_and_sql_in_every_field_of_the_shop_of_a_new_job_of_the_search_and_of_the_log_in(client, job, settings):
    doors = {
        reverse("new"): ("name",),
        reverse("shop_letterhead"): ("firm", "address", "telephone", "licence"),
        reverse("shop_tariff"): ("price_per_kwh", "currency"),
        reverse("shop_units"): ("units", "paper"),
        reverse("shop_instrument"): ("name", "accuracy", "checked", "remove"),
    }
    for url, names in doors.items():
        for name in (*names, None):
            sent = {one: HOSTILE if name in (one, None) else "" for one in names}
            response = client.post(url, sent)
            assert response.status_code in (302, 422), (url, name)
            assert "<script>alert" not in body(response)
    for address in (reverse("shop"), reverse("jobs")):
        page = body(client.get(address, {"q": HOSTILE, "page": HOSTILE, "saved": HOSTILE}))
        assert "<script>alert" not in page and "onfocus=alert(1) x=" not in html_attributes(page)
    assert Shop.objects.get().units == "inch_pound" and not Instrument.objects.exists()
    unharmed(client, job)
    settings.OPEN = False
    wrong = Client().post(reverse("log_in"), {"name": HOSTILE, "password": HOSTILE, "next": "javascript:alert(1)"})
    assert wrong.status_code == 422 and "<script>alert" not in body(wrong)


@pytest.mark.parametrize(
    "query",
    [
        {"least_flow": HOSTILE, "hand": HOSTILE, "sharp": HOSTILE},
        {"least_flow": "nan", "off_delay_s": "inf", "sensor_drop_k": "1e999", "ramp_time_s": "-1e999"},
    ],
)
def test_hostile_sliders_answer(client, job, query):
    for name in ("trim", "year"):
        response = client.get(reverse(name, args=[job.pk]), query)
        assert response.status_code in (200, 204) and "<script>alert" not in body(response)


def addresses():
    """Every address of the site: (name, pattern)."""
    return [one for one in get_resolver().url_patterns if isinstance(one, URLPattern)]


def made(pattern, job_id, number=99, name="map"):
    values = {"job_id": job_id, "item_id": job_id, "number": number, "name": name}
    wanted = pattern.pattern.converters
    return reverse(pattern.name, kwargs={key: value for key, value in values.items() if key in wanted})


def test_forged_identifiers_find_nothing_at_any_address(client, planned, told):
    """An identifier of nobody, one of another kind of thing, and numbers beyond what a database holds."""
    before = JobVersion.objects.count()
    outcome = planned.outcomes.get()
    assert outcome
    tried = 0
    for pattern in addresses():
        if not pattern.pattern.converters:
            continue
        for forged in (uuid.UUID(int=0), uuid.uuid4()):
            for method in (client.get, client.post):
                response = method(made(pattern, forged))
                # work that is not there: its page is told to stop asking, its button leads to the jobs
                stop = {"work": 286, "cancel": 302}.get(pattern.name)
                assert response.status_code in (404, 405, stop), (pattern.name, response.status_code)
                tried += 1
    assert tried > 60
    for number in (0, 99, 2**31, 2**63, 10**40):
        assert client.get(reverse("version_file", args=[planned.pk, number])).status_code == 404
        assert client.post(reverse("restore", args=[planned.pk, number])).status_code == 404
        assert client.get(reverse("jobs"), {"page": str(number)}).status_code == 200
        assert client.post(reverse("shop_instrument"), {"remove": str(number)}).status_code == 302
        compared = client.get(reverse("compare", args=[planned.pk]), {"before": str(number), "after": "1"})
        assert compared.status_code in (200, 404)
    for text in (
        "../../etc/passwd",
        "x'%20OR%201=1",
        "%00",
        "..%2f..%2fsecret.txt",
        "%0aERROR%20airtrim.web:%20all%20is%20well",
    ):
        for path in (f"/job/{text}/survey/", f"/static/{text}", *(f"/{room}/{text}/" for room in ("job", "work"))):
            assert client.get(path).status_code == 404, path
    assert JobVersion.objects.count() == before
    assert sum("Not Found" in one.getMessage() for one in told.records) > 20
    unharmed(client, planned)


def test_a_post_too_long_is_refused_at_every_address(client, job, told):
    asked = 0
    for pattern in addresses():
        response = client.post(made(pattern, job.pk, 1), {"name": LONG, "v:name": LONG})
        assert response.status_code == 413, pattern.name
        asked += 1
    said = [one for one in told.records if "refused a post of" in one.getMessage()]
    assert len(said) == asked > 25
    for length in ("-1", "1e9", "x", "9" * 400):
        assert client.post(reverse("new"), {"name": "x"}, CONTENT_LENGTH=length).status_code == 413
    file = SimpleUploadedFile("job.toml", LONG.encode())
    assert client.post(reverse("bring_in"), {"file": file}).status_code == 413
    many = client.post(reverse("new"), {f"n{number}": "1" for number in range(2100)})
    assert many.status_code == 400 and "refused" in told.text
    assert Job.objects.count() == 1
    unharmed(client, job)


def test_a_forged_line_cannot_be_written_into_the_log(client, job, told):
    client.post("/new/%0aERROR%20airtrim.web:%20all%20is%20well", {"name": LONG})
    client.post("/new/%0aERROR%20airtrim.web:%20all%20is%20well", headers={"host": "elsewhere.example"})
    Client(enforce_csrf_checks=True).post("/new/%0aERROR%20airtrim.web:%20all%20is%20well")
    said = [one.getMessage() for one in told.records if one.name == "airtrim.web"]
    assert said and all("\n" not in one for one in said)


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "127.0.0.1.elsewhere.example",
        "localhost@elsewhere.example",
        "localhost:80:80",
        "<script>",
        "[::",
    ],
)
def test_foreign_hosts_are_refused_and_logged(client, job, told, host):
    for path in ("/", reverse("survey", args=[job.pk]), "/alive/", "/nothing/"):
        response = client.get(path, headers={"host": host})
        assert response.status_code == 400, path
        assert host not in body(response)
    assert any(one.levelno >= logging.WARNING for one in told.records)
    assert client.get("/", headers={"X-Forwarded-Host": "elsewhere.example"}).status_code == 200
    assert "elsewhere" not in body(client.get("/", headers={"X-Forwarded-Host": "elsewhere.example"}))


def test_forms_sent_from_elsewhere_are_refused_and_logged(job, told):
    strict = Client(enforce_csrf_checks=True)
    strict.get("/")
    token = strict.cookies["csrftoken"].value
    fine = strict.post(reverse("undo", args=[job.pk]), {"csrfmiddlewaretoken": token})
    assert fine.status_code == 422 and "nothing to undo" in body(fine)
    for headers in ({"Origin": "https://elsewhere.example"}, {"Origin": "null"}):
        response = strict.post(reverse("undo", args=[job.pk]), {"csrfmiddlewaretoken": token}, headers=headers)
        assert response.status_code == 403
    for wrong in ("", "x", token[:-1] + "!", "a" * 64):
        assert strict.post(reverse("undo", args=[job.pk]), {"csrfmiddlewaretoken": wrong}).status_code == 403
    assert sum("without its token" in one.getMessage() for one in told.records) == 6
    assert newest(job).number == 1


def test_reading_addresses_change_nothing_and_changing_ones_take_no_get(client, job):
    for pattern in addresses():
        client.get(made(pattern, job.pk, 1))
    assert JobVersion.objects.count() == 1
    for name in ("new", "bring_in"):
        assert client.get(reverse(name)).status_code == 405
    for name in ("undo", "replace", "compute", "make_paper", "set_survey", "set_readings"):
        assert client.get(reverse(name, args=[job.pk])).status_code == 405, name


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[" * 50_000,
        "a = " + "[" * 20_000 + "]" * 20_000,
        "a" + ".a" * 20_000 + " = 1",
        "airtrim_job = 1\nairtrim_job = 1",
        EXAMPLE.read_text().replace("airtrim_job = 1", "airtrim_job = 99999999999999999999999999"),
        EXAMPLE.read_text().replace("airtrim_job = 1", "airtrim_job = 1\nname = 1"),
        EXAMPLE.read_text() + "\x00",
        EXAMPLE.read_text() + '\n[weather]\nfile = "/etc/passwd"\n',
        "\ufeff" + HOSTILE,
    ],
    ids=range(10),
)
def test_a_hostile_job_file_is_one_sentence(client, job, text):
    for url in (reverse("bring_in"), reverse("replace", args=[job.pk])):
        response = client.post(url, {"file": SimpleUploadedFile("<script>.toml", text.encode())})
        assert response.status_code == 422, body(response)[:300]
        page = body(response)
        assert 'class="wrong"' in page and "Traceback" not in page and "<script>" not in page
    assert Job.objects.count() == 1 and newest(job).number == 1


def test_a_hostile_name_leaves_through_the_file_name_harmlessly(client):
    job = services.import_job(
        EXAMPLE.read_text().replace("7 Alder Court, the Fennimores", "a\\r\\nSet-Cookie: x=1; <b>"), "Ana"
    )
    taken = client.get(reverse("job_file", args=[job.pk]))
    assert taken.status_code == 200 and "Set-Cookie" not in taken.headers
    assert "\n" not in taken["Content-Disposition"] and "<" not in taken["Content-Disposition"].split("filename*")[0]


@pytest.mark.parametrize(
    "text",
    [
        "airtrim_job = 1\nname = 3\n",
        "airtrim_job = 1\nname = [[[1]]]\nhouse = 1\nreadings = {}\n",
        EXAMPLE.read_text() + "\n[nonsense]\nx = 1979-05-27T07:32:00Z\n",
        EXAMPLE.read_text().replace("airtrim_job = 1", "airtrim_job = 1e400"),
        EXAMPLE.read_text().replace("[house]", "house = []\n[nonsense]"),
    ],
    ids=range(5),
)
def test_a_job_file_of_wrong_values_is_refused_or_shown_with_what_is_wrong(client, text):
    """A document with wrong values may be mended in the forms: it is kept, and every page of it answers."""
    response = client.post(reverse("bring_in"), {"file": SimpleUploadedFile("job.toml", text.encode())})
    assert response.status_code in (302, 422), body(response)[:300]
    if response.status_code == 422:
        assert 'class="wrong"' in body(response) and not Job.objects.exists()
        return
    job = Job.objects.get()
    unharmed(client, job)
    assert newest(job).text == text
    assert client.post(reverse("compute", args=[job.pk])).status_code in (302, 422)
    put = {"v:house.people": "5", "w:house.people": "", "v:name": "Mended", "w:name": ""}
    assert client.post(reverse("set_survey", args=[job.pk]), put).status_code in (200, 302, 422)
    unharmed(client, job)
