"""A document while it is filled in: every place a form has, what is missing, what is wrong, and nothing else moved."""

import pytest

from airtrim.core.errors import JobError
from airtrim.job import new_job_text, parse_job
from airtrim.web import draft, fields, layout, lists
from tests.plans import EXAMPLE
from tests.web.conftest import EIGHT


def test_an_empty_job_lacks_what_the_job_layer_requires():
    found = draft.read('airtrim_job = 1\nname = "x"\n')
    assert found.job is None and not found.problems
    assert {"house.place", "house.floor_area", "system.outdoor_size", "thermostat.set_point"} <= set(found.missing)


def test_the_eight_values_and_what_follows_them_make_a_job():
    text = 'airtrim_job = 1\nname = "x"\n[thermostat]\nfan = "auto"\n'
    for place, value in EIGHT.items():
        text = draft.changed(text, place, value)
    text = draft.changed(text, "system.coil_size", "3 tons")
    assert draft.read(text).job == parse_job(text, "job.toml")


@pytest.mark.parametrize("text", [EXAMPLE.read_text(), new_job_text("x")], ids=["example", "new"])
def test_a_change_moves_nothing_else(text):
    there = draft.read(text).value("house.floor_area")
    changed = draft.changed(text, "house.floor_area", "1800 ft2")
    assert changed == text.replace(f'floor_area = "{there}"', 'floor_area = "1800 ft2"')
    assert draft.changed(changed, "house.floor_area", there) == text


def test_taking_the_last_value_of_an_entry_out_takes_the_entry_out():
    text = draft.changed(EXAMPLE.read_text(), "blower.fan_table.1.tap", 2)
    assert draft.read(text).entries("blower.fan_table") == 1
    assert draft.read(draft.changed(text, "blower.fan_table.1.tap", None)).entries("blower.fan_table") == 0


def test_an_entry_beyond_the_next_is_refused():
    with pytest.raises(JobError, match=r"names entry 7 of 1; count from 1, or 2 to add one"):
        draft.changed(EXAMPLE.read_text(), "readings.7.airflow", "1000 cfm")


@pytest.mark.parametrize(
    ("place", "value", "says"),
    [
        ("house.floor_area", "1650", "write both"),
        ("house.floor_area", "1650 cubits2x", "unknown unit"),
        ("house.floor_area", "3 ft2", "must lie in"),
        ("house.year_built", "abc", "whole number"),
        ("house.year_built", 99, "At least 1700"),
        ("heat.kind", "fire", "cannot stand here"),
        ("readings.1.return_wet_bulb", "80 F", "wet-bulb is above"),
        ("complaint.kinds", [], "at least one"),
    ],
)
def test_what_is_wrong_is_said_at_its_place_in_one_sentence(place, value, says):
    found = draft.read(draft.changed(EXAMPLE.read_text(), place, value))
    assert found.job is None
    assert says.lower() in found.problem(place).lower()
    assert "job.toml" not in found.problem(place) and "\n" not in found.problem(place)


def test_no_toml_is_refused_in_a_sentence():
    with pytest.raises(JobError, match="not readable TOML"):
        draft.read("name = ")


def places():
    """Every place that some group of a form asks, rows of lists by their first one."""
    for page, prefix in ((layout.SURVEY, ""), (layout.READINGS, "readings.1.")):
        for group in page:
            yield from (prefix + place for place in group.places)
            for name in group.lists:
                yield from rows(prefix + name)


def rows(place):
    kind = lists.row_kind(place)
    yield from (f"{place}.1.{key}" for key in kind.keys)
    for key in kind.lists:
        yield from rows(f"{place}.1.{key}")


@pytest.mark.parametrize("place", sorted(places()))
def test_every_place_of_a_form_is_one_of_the_job_layer_and_has_a_name(place):
    from airtrim.report.words import known

    field = fields.field_at(place)
    bare = ".".join(part for part in place.split(".") if not part.isdigit())
    assert known(f"web.field.{bare}"), f"add web.field.{bare} to the catalogue"
    if field.kind == "measured":
        text = fields.joined(field.example.split()[0], field.units[0])
        found = draft.read(draft.changed(EXAMPLE.read_text(), place, text))
        assert "unknown unit" not in found.problem(place) and "unit" not in found.problem(place).split("must lie")[0]


@pytest.mark.parametrize("place", sorted(places()))
def test_every_unit_offered_is_one_the_job_layer_reads(place):
    field = fields.field_at(place)
    for unit in field.units:
        problem = draft.read(draft.changed(EXAMPLE.read_text(), place, f"1 {unit}")).problem(place)
        assert "unknown unit" not in problem and "convertible" not in problem, problem


def test_degrees_of_difference_are_told_from_temperatures():
    """30 K is a difference everybody accepts and a temperature nobody reads; the job layer's answer decides."""
    for place in places():
        field = fields.field_at(place)
        if field.example.endswith(" F"):
            assert (field.example in fields.DIFFERENCES) != (field.example in fields.TEMPERATURES), place
            assert ("K" in field.units) == (field.example in fields.DIFFERENCES)


def test_every_value_of_the_job_layer_has_a_field():
    """A value that somebody adds to the job file must not be forgotten: where no group has it, it stands under `more`."""
    from airtrim.web.pages.forms import unplaced

    shown = {*places()}
    for prefix in ("", "readings.1."):
        for group in unplaced(prefix):
            shown |= {prefix + place for place in group.places}
            assert not group.lists, "give the list a group of its own in the layout"
    assert set(fields.places()) - shown == set(layout.UNSEEN)
    for place in fields.places():
        if place not in layout.UNSEEN:
            assert fields.field_at(place).label


@pytest.mark.parametrize(
    ("typed", "unit", "written"),
    [
        ("1650", "ft2", "1650 ft2"),
        ("1,650", "ft2", "1,650 ft2"),
        ("1650 sq ft", "ft2", "1650 sq ft"),
        (" 0.62 ", "inH2O", "0.62 inH2O"),
    ],
)
def test_the_text_typed_is_kept_with_its_unit(typed, unit, written):
    assert fields.joined(typed, unit) == written
