"""Every printed value that stands in a table, and the rules for the tables themselves."""

from pathlib import Path

import pytest

from tests.published.coverage import public_functions, without_outside_case
from tests.published.loader import FOLDER, Case, TableError, all_cases, cases_of, read_table, tables

ROOT = FOLDER.parents[1]


def pytest_generate_tests(metafunc):
    if "published" in metafunc.fixturenames:
        folders = [FOLDER, *(Path(one) for one in metafunc.config.getoption("--published"))]
        try:
            cases = all_cases(folders)
        except TableError as error:
            raise pytest.UsageError(str(error)) from error
        metafunc.parametrize("published", cases, ids=[case.id for case in cases])


def test_published_value(published: Case):
    assert abs(published.got() - published.expected) <= published.allowed


def test_no_tolerance_is_tighter_than_half_the_last_printed_digit(published: Case):
    assert published.allowed >= published.half_digit * (1.0 - 1e-9)


@pytest.mark.parametrize("path", tables([FOLDER]), ids=lambda path: path.stem)
def test_a_table_of_its_own_shape_is_read_by_the_test_it_names(path: Path):
    table = read_table(path)
    if "checked_by" in table:
        text = (ROOT / table["checked_by"]).read_text(encoding="utf-8")
        assert path.stem in text


def test_every_checked_function_of_moist_air_has_an_outside_value():
    """An outside value is one that is not our own derivation; the raw formulas have one through the checked functions."""
    from airtrim.physics.air import states

    rooms = ("airtrim.physics.air.states.", "airtrim.physics.air.many.", "airtrim.physics.air.pairs.")
    assert [name for name in without_outside_case() if name.startswith(rooms)] == []
    public = {name.rpartition(".")[2] for name in public_functions() if name.startswith(rooms[0])}
    assert public == set(states.__all__)


GOOD = """
function = "airtrim.physics.air.states.saturation_pressure"
source = "common-practice"
locator = "somebody's own table"
kind = "measured"
[tolerance]
relative = 0.001
because = "three digits"
[[cases]]
inputs = {temperature = "77 degF"}
expected = "3.169 kPa"
"""


def test_anyones_own_table_is_read_in_its_own_units(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(GOOD)
    (case,) = cases_of(path)
    assert abs(case.got() - case.expected) <= case.allowed == pytest.approx(0.003169)
    path.write_text(GOOD.replace("3.169", "3.269"))
    (case,) = cases_of(path)
    assert abs(case.got() - case.expected) > case.allowed


@pytest.mark.parametrize(
    ("good", "bad", "sentence"),
    [
        ("[tolerance]", "[tolerance", r"mine.toml cannot be read"),
        ('source = "common-practice"\n', "", r"mine.toml lacks source"),
        ('"measured"', '"guessed"', r"kind 'guessed' is not known"),
        ('because = "three digits"', "", r"lacks because"),
        ("saturation_pressure", "saturated", r"does not exist"),
        ('expected = "3.169 kPa"', "", r"case 1 lacks inputs or expected"),
        ('"77 degF"', '"warm"', r"case 1: 'warm' is no number with a unit"),
    ],
)
def test_an_ill_formed_table_is_one_sentence(good, bad, sentence, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(GOOD.replace(good, bad, 1))
    with pytest.raises(TableError, match=sentence):
        list(cases_of(path))
