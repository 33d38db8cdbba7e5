"""Lists of records on the pages: any list of a job file, row by row, and nothing else of the document moved."""

import copy
import html
import re
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

import airtrim.job
from airtrim.core.errors import JobError
from airtrim.web import draft, fields, lists, selectors, services
from airtrim.web.services import Edit
from tests.plans import EXAMPLE

pytestmark = pytest.mark.django_db
#: What a text of a row may be, by the end of its place; everything else is by the kind of its field.
TEXTS = {
    "set_backs.start": "22:00",
    "set_backs.end": "06:00",
    "periods.start": "00:00",
    "periods.end": "00:00",
    "seasons.start": "01-01",
    "seasons.end": "12-31",
    "modes.date": "2026-07-14",
    "instruments.last_checked": "2026-04-17",
    "instruments.least": "0.9 F",
    "instruments.used_for": "supply_dry_bulb",
}
#: What cannot stand together in a row, and is left out of it here.
APART = ("traverses.velocities", "tiers.up_to_kwh", "traverses.diameter", "instruments.part_of_reading")


def newest(job):
    job.refresh_from_db()
    return selectors.newest(job).text


def value(job, place):
    return draft.read(newest(job)).value(place)


def body(response):
    return response.content.decode()


def plain(place):
    """The text and unit one would type at a place."""
    field = fields.field_at(place)
    known = next((text for end, text in TEXTS.items() if fields.bare(place).endswith(end)), None)
    if fields.bare(place).endswith(APART):
        return "", ""
    if known is not None:
        return known, ""
    if field.units:
        return fields.split(field.example)
    if field.choices:
        return field.choices[0][0], ""
    return ("Hall", "") if field.kind == "words" else ("1", "")


def typed(place, **other):
    """What the form for one row more of the list at `place` sends."""
    sent = {"add": place}
    for key in lists.row_kind(place).keys:
        at = f"{place}.1.{key}"
        text, unit = plain(at)
        sent |= {f"v:{at}": other.get(key, text), f"w:{at}": ""} | ({f"u:{at}": unit} if unit else {})
    return sent


def page_of(place):
    return "readings" if place.startswith("readings.") else "survey"


def post(client, job, place, sent, htmx=True):
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse(f"set_{page_of(place)}", args=[job.pk]), sent, headers=headers)


def field_of(page, place):
    """The form's part of one field."""
    found = re.search(f'id="f-{place.replace(".", "-").replace("_", "-")}".*?(?=id="f-|$)', page, re.DOTALL)
    return found.group(0)


LISTS = [lists.first_of(path) for path in lists.every() if path != "readings"]


@pytest.mark.parametrize("place", LISTS)
def test_every_list_takes_a_row_shows_it_and_gives_it_back(client, job, place):
    """By the form that the page itself shows; with the row taken out the document is what it was, to the letter."""
    above = lists.rows_above(place)
    if above and lists.parted(above[-1])[0] == "tariff.seasons":
        post(client, job, "tariff.seasons", typed("tariff.seasons", price_per_kwh=""))
    before = newest(job)
    shown = body(client.get(reverse(page_of(place), args=[job.pk])))
    assert f'name="add" value="{place}"' in shown
    assert all(f'name="v:{place}.1.{key}"' in shown for key in lists.row_kind(place).keys)
    answer = body(post(client, job, place, typed(place)))
    assert "Row 1 added" in answer, answer
    row = value(job, place)[0]
    for key in lists.row_kind(place).keys:
        assert fields.written(row.get(key)) == fields.written(
            fields.typed(fields.field_at(f"{place}.1.{key}"), *plain(f"{place}.1.{key}"))
        )
    shown = body(client.get(reverse(page_of(place), args=[job.pk])))
    assert f'name="remove" value="{place}.1"' in shown and f'name="v:{place}.2.' in shown
    post(client, job, place, {"remove": f"{place}.1", "mark": lists.mark(row)})
    assert newest(job).rstrip() == before.rstrip()


@pytest.mark.parametrize("place", [place for place in LISTS if "seasons.1" not in place])
def test_a_row_with_nothing_in_it_is_told_at_its_fields_what_it_needs(client, job, place):
    before = newest(job)
    nothing = {name: "" if name.startswith("v:") else sent for name, sent in typed(place).items()}
    page = body(post(client, job, place, nothing))
    for key in lists.row_kind(place).keys:
        needed = fields.field_at(f"{place}.1.{key}").required
        assert ("This is needed." in field_of(page, f"{place}.1.{key}")) == needed
    assert newest(job) == before


@pytest.mark.parametrize("htmx", [True, False], ids=["script", "none"])
def test_a_wrong_row_is_refused_at_its_field_and_kept_as_typed(client, job, htmx):
    before = newest(job)
    sent = typed("readings.1.strip_circuits", volts="20", amps="18.5")
    response = post(client, job, "readings.1.strip_circuits", sent, htmx)
    page = body(response)
    assert response.status_code == (200 if htmx else 422) and newest(job) == before
    volts, amps = (field_of(page, f"readings.1.strip_circuits.1.{key}") for key in ("volts", "amps"))
    assert 'value="20"' in volts and "must lie in" in volts and "autofocus" in volts
    assert 'value="18.5"' in amps and "wrong" not in amps


def test_a_decimal_comma_in_a_grid_of_points_is_refused_and_the_points_stay(client, job):
    place = "readings.1.traverses"
    page = body(post(client, job, place, typed(place, velocity_pressures="0,03 0.04\r\n0.05 0.06")))
    told = field_of(page, f"{place}.1.velocity_pressures")
    assert "with a point" in told and "0,03 0.04\n0.05 0.06" in told and value(job, place) is None


def test_a_grid_of_points_is_read_by_lines_with_one_unit_and_shown_so_again(client, job):
    place = "readings.1.traverses"
    sent = typed(place, velocity_pressures="0.030 0.041 0.052\r\n0.033, 0.044, 0.055") | {
        f"u:{place}.1.velocity_pressures": "inH2O"
    }
    post(client, job, place, sent)
    assert value(job, place)[0]["velocity_pressures"] == [
        ["0.030 inH2O", "0.041 inH2O", "0.052 inH2O"],
        ["0.033 inH2O", "0.044 inH2O", "0.055 inH2O"],
    ]
    shown = field_of(body(client.get(reverse("readings", args=[job.pk]))), f"{place}.1.velocity_pressures")
    assert ">\n0.030 0.041 0.052\n0.033 0.044 0.055</textarea>" in shown


def test_a_rule_of_the_whole_list_stands_at_the_list_until_the_rows_are_there(client, job):
    """Periods must cover the week: the first alone cannot, and is kept with what is missing said."""
    services.save_values(job.pk, [Edit("tariff.time_zone", "America/New_York", "")], "Ana")
    first = typed("tariff.periods", name="peak", start="14:00", end="19:00", price_per_kwh="0.31")
    page = body(post(client, job, "tariff.periods", first))
    assert "have no price" in page and draft.read(newest(job)).problems
    post(
        client,
        job,
        "tariff.periods",
        typed("tariff.periods", name="rest", start="19:00", end="14:00", price_per_kwh="0.11"),
    )
    found = draft.read(newest(job))
    assert not found.problems and [one.name for one in found.job.tariff.periods] == ["peak", "rest"]


def test_a_row_that_contradicts_itself_is_refused_as_a_whole(client, job):
    page = body(post(client, job, "readings.1.grilles", typed("readings.1.grilles", airflow="", velocity="")))
    assert (
        "has no airflow; give airflow, or velocity and free_area" in page and value(job, "readings.1.grilles") is None
    )


def test_a_value_in_a_row_is_changed_by_itself_and_the_row_keeps_what_stands_beside_it(client, job):
    services.add_row(job.pk, "readings.1.rooms", {"name": "Den", "pressure": "3 Pa", "supply": "90 cfm"}, "Ana")
    at = "readings.1.rooms.1.pressure"
    sent = {f"v:{at}": "4.5", f"u:{at}": "Pa", f"w:{at}": "3 Pa", "since": job.latest + 1}
    page = body(post(client, job, at, sent))
    assert "Den · 4.5 Pa · 90 cfm" in page
    assert value(job, "readings.1.rooms")[0] == {"name": "Den", "pressure": "4.5 Pa", "supply": "90 cfm"}


def test_nobody_writes_into_another_row_after_one_was_taken_out(client, job):
    for name in ("Den", "Study", "Nursery"):
        services.add_row(job.pk, "readings.1.rooms", {"name": name, "pressure": "3 Pa"}, "Ana")
    job.refresh_from_db()
    seen = job.latest
    services.remove_row(job.pk, "readings.1.rooms.1", lists.mark(value(job, "readings.1.rooms.1")), "Ben")
    at = "readings.1.rooms.2.pressure"
    page = body(post(client, job, at, {f"v:{at}": "9", f"u:{at}": "Pa", f"w:{at}": "3 Pa", "since": seen}))
    assert "may be another row now" in page
    assert [one["pressure"] for one in value(job, "readings.1.rooms")] == ["3 Pa", "3 Pa"]
    answer = body(post(client, job, "readings.1.rooms", {"remove": "readings.1.rooms.1", "mark": "forged"}))
    assert "changed meanwhile" in answer and len(value(job, "readings.1.rooms")) == 2
    job.refresh_from_db()
    post(client, job, at, {f"v:{at}": "9", f"u:{at}": "Pa", f"w:{at}": "3 Pa", "since": job.latest})
    assert [one["pressure"] for one in value(job, "readings.1.rooms")] == ["3 Pa", "9 Pa"]


def test_a_row_further_down_taken_out_moves_nothing_above_it(job):
    for name in ("Den", "Study"):
        services.add_row(job.pk, "readings.1.rooms", {"name": name, "pressure": "3 Pa"}, "Ana")
    job.refresh_from_db()
    seen = job.latest
    services.remove_row(job.pk, "readings.1.rooms.2", lists.mark(value(job, "readings.1.rooms.2")), "Ben")
    saved = services.save_values(job.pk, [Edit("readings.1.rooms.1.pressure", "5 Pa", "3 Pa", seen)], "Ana")
    assert not saved.problems and value(job, "readings.1.rooms")[0]["pressure"] == "5 Pa"


def test_two_people_who_add_a_row_at_once_both_have_it(job):
    for name in ("Den", "Study"):  # each form was shown while the list was empty
        services.add_row(job.pk, "readings.1.rooms", {"name": name, "pressure": "3 Pa"}, name)
    assert [one["name"] for one in value(job, "readings.1.rooms")] == ["Den", "Study"]


FORGED = ["", "house", "house.place", "readings.1.nothing", "readings.9.log", "readings.x.log", "tariff.seasons.1.tiers",
          "readings.1.log.1", "readings.1.log.1.at", "a" * 4000, "readings." + "9" * 5000 + ".log", "readings.².log",
          "options.cards"]  # fmt: skip


@pytest.mark.parametrize("place", FORGED)
@pytest.mark.parametrize("what", ["add", "remove"])
def test_a_forged_list_or_row_is_refused_in_a_sentence(client, job, place, what):
    before = newest(job)
    response = client.post(reverse("set_readings", args=[job.pk]), {what: place, "mark": "0"})
    assert response.status_code in (400, 422) and newest(job) == before
    assert "Traceback" not in body(response)


def test_a_row_that_is_not_there_is_not_taken_out(job):
    with pytest.raises(JobError, match="no row"):
        draft.without_row(newest(job), "blower.fan_table.2")


def test_a_card_written_into_the_job_file_stays_when_other_cards_are_named(client):
    card = tomllib.loads((Path(airtrim.job.__file__).parent / "generic_cards/thermostat_that_dries.toml").read_text())
    text = draft.changed(EXAMPLE.read_text(), "options.cards", [card, "dehumidifier"])
    job = services.import_job(text, "Ana")
    before = value(job, "options.cards")
    shown = body(client.get(reverse("survey", args=[job.pk])))
    was = html.unescape(re.search(r'name="w:options.cards" value="([^"]*)"', shown).group(1))
    assert ">\ndehumidifier</textarea>" in field_of(shown, "options.cards")
    print(
        body(post(client, job, "options.cards", {"v:options.cards": "constant_torque_motor", "w:options.cards": was}))
    )
    assert value(job, "options.cards") == [before[0], "constant_torque_motor"]


def test_rows_of_the_makers_table_are_lines_with_their_commas(client, job):
    rows = [
        "1200 cfm, 67 F, 80 F, 95 F, 36.2 kBtu/h, 27.1 kBtu/h, 2.9 kW",
        "1000 cfm, 67 F, 80 F, 95 F, 35.0 kBtu/h, 25.0 kBtu/h, 2.9 kW",
    ]
    post(client, job, "system.performance", {"v:system.performance": "\r\n".join(rows), "w:system.performance": ""})
    assert value(job, "system.performance") == rows


def test_what_to_read_next_looks_at_the_reading_in_hand(client, job):
    """The example's reading is whole but for a few; a second one begins with its own airflow."""
    url = reverse("readings", args=[job.pk])
    first = body(client.get(url))
    assert "?reading=2" in first
    second = body(client.get(url + "?reading=2"))
    head = re.search(r'class="next">.*?</h2>', second, re.DOTALL).group(0)
    assert "Read next: Airflow" in head and 'name="v:readings.2.airflow"' in second and "v:readings.1." not in second
    at = "readings.2.airflow"
    page = body(post(client, job, at, {f"v:{at}": "1100", f"u:{at}": "cfm", f"w:{at}": ""}))
    assert "Read next: Return dry-bulb" in page and "at=readings.2.return_dry_bulb" in page
    newest_first = body(client.get(url))
    assert 'name="v:readings.2.airflow"' in newest_first and value(job, "readings.2.id")
    fan = "readings.2.operation"
    post(client, job, fan, {f"v:{fan}": "fan_only", f"w:{fan}": ""})
    for key, number, unit in (("return_dry_bulb", "75", "F"), ("total_external_static", "0.4", "inH2O")):
        at = f"readings.2.{key}"
        page = body(post(client, job, at, {f"v:{at}": number, f"u:{at}": unit, f"w:{at}": ""}))
    assert "Read next: Blower power" in page


def test_a_reading_is_taken_out_whole_and_the_other_stays(client, job):
    services.save_values(job.pk, [Edit("readings.2.airflow", "1100 cfm", "")], "Ana")
    first = value(job, "readings.1")
    page = body(client.get(reverse("readings", args=[job.pk])))
    mark = re.search(r'name="remove" value="readings.2"><input type="hidden" name="mark" value="(\w+)"', page).group(1)
    response = post(client, job, "readings.2", {"remove": "readings.2", "mark": mark}, htmx=False)
    assert response.status_code == 302 and value(job, "readings") == [first]


# --- nothing is lost: any edits, on documents written in any of TOML's ways ---

DOCUMENTS = {
    "tables": EXAMPLE.read_text()
    + """
[[readings.rooms]]  # the worst one first
name = "Den"
pressure = "3 Pa"

# the door sticks
[[readings.rooms]]
name = "Study"
pressure = "1 Pa"
supply = "80 cfm"
""",
    "inline": EXAMPLE.read_text().replace(
        "[[readings]]",
        """[[readings]]
rooms = [
  {name = "Den", pressure = "3 Pa"},  # the worst one first
  {name = "Study", pressure = "1 Pa", supply = "80 cfm"},
]""",
    ),
    "out of order": """airtrim_job = 1
name = "x"
[[tariff.seasons]]
name = "summer"  # hot
[[tariff.seasons.tiers]]
price_per_kwh = 0.2
[house]
place = "Mobile, AL"
[tariff]
currency = "USD"
[[readings]]
id = "7c5a2f0e-5f0b-4b7e-9a57-3c1f6f0b8d21"
[[readings.rooms]]
name = "Den"
[[blower.fan_table]]
tap = 1
[blower]
taps = 3
""",
    "bare": 'airtrim_job = 1\nname = "x"\n',
}
ROWS = {
    "readings.1.rooms": {"name": "Loft", "pressure": "2 Pa"},
    "readings.1.log": {"at": "5 min", "supply_dry_bulb": "58 F"},
    "readings.1.traverses": {"shape": "round", "velocities": [["700 ft/min"], ["650 ft/min", "600 ft/min"]]},
    "blower.fan_table": {"tap": 2, "static": "0.5 inH2O", "airflow": "1100 cfm"},
    "tariff.seasons": {"name": "winter", "start": "10-01", "end": "05-31"},
    "tariff.seasons.1.tiers": {"up_to_kwh": 500, "price_per_kwh": 0.12},
    "instruments": {"id": "gauge", "kind": "refrigerant_gauge", "used_for": ["suction_pressure"]},
}  # fmt: skip


def at(table, place):
    here = table
    for name in place.split("."):
        here = here[int(name) - 1] if isinstance(here, list) else here[name]
    return here


@settings(max_examples=40, deadline=None)
@given(
    kind=st.sampled_from(sorted(DOCUMENTS)),
    steps=st.lists(
        st.tuples(st.sampled_from(["add", "change", "remove"]), st.sampled_from(sorted(ROWS)), st.integers(1, 3)),
        min_size=1,
        max_size=8,
    ),
)
def test_any_edits_of_rows_leave_all_else_of_the_document_as_it_was(kind, steps):
    """Held against the same edits made on a plain table; what stands in no edited list is the same line for line."""
    text = DOCUMENTS[kind]
    expected = tomllib.loads(text)
    for what, place, number in steps:
        rows = draft.read(text).value(place) or []
        if place.startswith("tariff.seasons.1.") and not draft.read(text).value("tariff.seasons.1"):
            continue
        if what == "add":
            expected = with_row(expected, place, ROWS[place])
            for key, one in ROWS[place].items():
                text = draft.changed(text, f"{place}.{len(rows) + 1}.{key}", one)
        elif number <= len(rows):
            key, one = next(iter(ROWS[place].items()))
            if what == "change":
                text = draft.changed(text, f"{place}.{number}.{key}", one)
                expected = copy.deepcopy(expected)
                at(expected, place)[number - 1][key] = one
            else:
                text = draft.without_row(text, f"{place}.{number}")
                expected = without(expected, place, number)
        assert tomllib.loads(text) == expected


def with_row(table, place, row):
    table = copy.deepcopy(table)
    here = table
    names = place.split(".")
    for name, following in pairwise(names):
        if isinstance(here, list):
            while len(here) < int(name):
                here.append({})
            here = here[int(name) - 1]
        else:
            here = here.setdefault(name, [] if following.isdigit() else {})
    here.setdefault(names[-1], []).append(copy.deepcopy(row))
    return table


def without(table, place, number):
    """A list or section that is empty then goes too, and a reading with nothing left but its id."""
    table = copy.deepcopy(table)
    del at(table, place)[number - 1]
    names = place.split(".")
    while names:
        parent = at(table, ".".join(names[:-1])) if len(names) > 1 else table
        key = int(names[-1]) - 1 if isinstance(parent, list) else names[-1]
        inside = parent[key]
        if any(name != "id" for name in inside) if isinstance(inside, dict) else inside:
            break
        del parent[key]
        names.pop()
    return table


@pytest.mark.parametrize("kind", ["tables", "inline"])
def test_comments_and_spelling_around_a_row_that_goes_stay(kind):
    text = DOCUMENTS[kind]
    after = draft.without_row(text, "readings.1.rooms.2")
    gone = [line for line in text.splitlines() if line not in after.splitlines()]
    assert gone and all(re.search(r"Study|80 cfm|1 Pa|^\[\[readings.rooms\]\]$", line) for line in gone)
    assert '"Den"' in after and "# the worst one first" in after
