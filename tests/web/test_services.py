"""Jobs and their versions: appended only, undone by appending, two people at one job, what comes in goes out again."""

import pytest
from django.core.exceptions import ValidationError

from airtrim.core.errors import JobError
from airtrim.web import draft, selectors, services
from airtrim.web.services import Edit
from tests.plans import EXAMPLE
from tests.web.conftest import EIGHT

pytestmark = pytest.mark.django_db


def text(job):
    job.refresh_from_db()
    return selectors.newest(job).text


def test_a_job_file_comes_back_to_the_letter(job):
    assert text(job) == EXAMPLE.read_text()


def test_eight_values_make_a_job_that_can_be_computed():
    job = services.create_job("Heron Lane 14", "Ana")
    saved = services.save_values(job.pk, [Edit(place, value, "") for place, value in EIGHT.items()], "Ana")
    assert not saved.problems and not saved.clashes
    found = draft.read(text(job))
    assert found.job is not None and found.job.system.coil_size.text == "3 tons"
    assert found.value("readings.1.id")


def test_a_version_is_never_changed(job):
    version = selectors.newest(job)
    version.text = "other"
    with pytest.raises(ValidationError):
        version.save()


def test_a_wrong_value_keeps_none_of_the_others_back(job):
    edits = [Edit("house.people", "many", "4"), Edit("house.bedrooms", 4, "3")]
    saved = services.save_values(job.pk, edits, "Ana")
    assert [one.place for one in saved.problems] == ["house.people"]
    found = draft.read(text(job))
    assert found.value("house.people") == 4 and found.value("house.bedrooms") == 4


def test_two_people_at_two_places_lose_nothing(job):
    services.save_values(job.pk, [Edit("house.people", 5, "4")], "Ana")
    saved = services.save_values(job.pk, [Edit("house.bedrooms", 4, "3")], "Ben")
    assert not saved.clashes
    found = draft.read(text(job))
    assert (found.value("house.people"), found.value("house.bedrooms")) == (5, 4)


def test_two_people_at_one_place_clash_and_the_first_stands(job):
    services.save_values(job.pk, [Edit("house.people", 5, "4")], "Ana")
    saved = services.save_values(job.pk, [Edit("house.people", 6, "4")], "Ben")
    (clash,) = saved.clashes
    assert (clash.theirs, clash.mine, clash.author) == ("5", "6", "Ana")
    assert draft.read(text(job)).value("house.people") == 5
    services.save_values(job.pk, [Edit("house.people", 6, "5")], "Ben")  # having seen it
    assert draft.read(text(job)).value("house.people") == 6


def test_the_same_value_twice_is_no_clash_and_no_version(job):
    services.save_values(job.pk, [Edit("house.people", 5, "4")], "Ana")
    saved = services.save_values(job.pk, [Edit("house.people", 5, "4")], "Ben")
    assert not saved.clashes and saved.number == 2


def test_undo_goes_back_step_by_step_by_going_on(job):
    first = text(job)
    for people in (5, 6):
        services.save_values(job.pk, [Edit("house.people", people, str(people - 1))], "Ana")
    services.undo(job.pk, "Ana")
    assert draft.read(text(job)).value("house.people") == 5
    services.undo(job.pk, "Ana")
    assert text(job) == first and job.latest == 5 and job.versions.count() == 5
    with pytest.raises(JobError, match="nothing to undo"):
        services.undo(job.pk, "Ana")


def test_any_version_comes_back_and_any_two_compare(job):
    services.save_values(job.pk, [Edit("house.people", 5, "4")], "Ana")
    services.save_values(job.pk, [Edit("house.bedrooms", 4, "3")], "Ana")
    services.restore(job.pk, 2, "Ben")
    assert text(job) == job.versions.get(number=2).text
    tables = [draft.read(job.versions.get(number=number).text).table for number in (1, 3)]
    found = {(one.place, one.before, one.after) for one in selectors.differences(*tables)}
    assert found == {("house.people", "4", "5"), ("house.bedrooms", "3", "4")}


def test_a_follower_that_was_set_apart_stays(job):
    services.save_values(job.pk, [Edit("system.coil_size", "3.5 tons", "3 tons")], "Ana")
    services.save_values(job.pk, [Edit("system.outdoor_size", "2.5 tons", "3 tons")], "Ana")
    assert draft.read(text(job)).value("system.coil_size") == "3.5 tons"


@pytest.mark.parametrize(
    ("given", "says"),
    [("name = ", "not readable TOML"), ("a = 1", "no job file"), ("x" * 600_000, "longer")],
)
def test_what_is_no_job_file_is_refused(given, says):
    with pytest.raises(JobError, match=says):
        services.import_job(given, "Ana")


def test_an_incomplete_job_file_may_come_in():
    job = services.import_job('airtrim_job = 1\nname = "half"\n', "Ana")
    assert "house.place" in draft.read(text(job)).missing


def test_the_list_finds_by_words_of_name_and_place(job):
    services.create_job("Heron Lane 14", "Ana")
    assert [one.name for one in selectors.jobs("greensboro alder", 1).jobs] == [job.name]
    assert len(selectors.jobs("", 1).jobs) == 2 and not selectors.jobs("%", 1).jobs
