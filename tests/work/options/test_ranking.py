"""Ranking by the owner's aim: a pure function of what the options did, on invented results."""

import copy
import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from airtrim.core.errors import InputError
from airtrim.report.words import known
from airtrim.work.options.candidates import IDS
from airtrim.work.options.ranking import AIMS, rank, separating
from airtrim.work.options.refusals import refusals
from airtrim.work.options.weigh import DRAWN

COUNT = 32
SPREAD = np.linspace(-1.0, 1.0, COUNT)  # what the house itself leaves open, the same under every option


def option(identity, damp, sound=0.0, cost=1000.0, missed=10.0, safe=True, parts=()):
    """An option of `COUNT` systems: numbers or arrays of what it did."""
    names = ("damp_hours", "sound_change", "cost_to_run", "hours_set_point_missed")
    values = {
        name: (np.zeros(COUNT) + value).tolist() for name, value in zip(names, (damp, sound, cost, missed), strict=True)
    }
    return {"id": identity, "status": "run", "safe": safe, "parts": list(parts), "by_system": values}


def result(*options):
    drawn = {"airflow": SPREAD.tolist(), "moisture": np.cos(9.0 * SPREAD).tolist()}
    return {"aim": "dry", "cost_unit": "kWh/yr", "options": list(options), "drawn": drawn}


NOW = option("leave_as_is", 2000.0 + 500.0 * SPREAD)
TAP = option("lower_tap", 1600.0 + 450.0 * SPREAD, sound=-2.0, cost=980.0)
DRIVE = option("drive_coil_feedback", 1300.0 + 420.0 * SPREAD, sound=-4.0, cost=990.0)


def test_the_aim_is_changed_on_the_spot_and_the_result_stays_as_it_was():
    seal = option("seal_ducts", 1900.0 + 500.0 * SPREAD, cost=800.0, missed=0.0)
    given = result(NOW, TAP, DRIVE, seal)
    before = copy.deepcopy(given)
    first = {aim: rank(given, aim)["recommended"] for aim in ("dry", "quiet", "cheap_to_run", "even_temperatures")}
    assert first == {
        "dry": "drive_coil_feedback",
        "quiet": "drive_coil_feedback",
        "cheap_to_run": "seal_ducts",
        "even_temperatures": "leave_as_is",  # 10 h fewer are not worth a dearer option
    }
    assert given == before


def test_differences_are_paired_so_what_the_house_leaves_open_drops_out():
    """300 h less in each system is beyond doubt although the systems themselves differ by 1,000 h."""
    row = next(
        row
        for row in rank(result(NOW, option("lower_tap", 1700.0 + 500.0 * SPREAD)))["order"]
        if row["id"] == "lower_tap"
    )
    assert row["helps"]
    assert row["gain"]["low"] == pytest.approx(300.0)
    assert row["gain"]["high"] == pytest.approx(300.0)


def test_a_gain_in_doubt_or_not_worth_while_leaves_it_alone():
    doubtful = option("lower_tap", 1900.0 + 700.0 * SPREAD)
    small = option("lower_tap", 1950.0 + 500.0 * SPREAD)  # 50 h of 2,000: less than 5 %
    for one in (doubtful, small):
        assert rank(result(NOW, one))["recommended"] == "leave_as_is"


def test_what_a_limit_struck_out_is_never_recommended():
    unsafe = option("lower_tap", 100.0, safe=False)
    ranking = rank(result(NOW, unsafe, DRIVE))
    assert ranking["recommended"] == "drive_coil_feedback"
    assert [row["id"] for row in ranking["order"]][-1] == "lower_tap"


def test_among_equals_the_cheaper_is_kept():
    motor = option("constant_airflow_motor", 1290.0 + 420.0 * SPREAD, sound=-4.0, cost=990.0)
    assert rank(result(NOW, DRIVE, motor))["recommended"] == "drive_coil_feedback"


def test_cheap_to_buy_puts_the_cheapest_that_helps_first():
    ranking = rank(result(NOW, TAP, DRIVE), "cheap_to_buy")
    assert [row["id"] for row in ranking["order"]][:2] == ["lower_tap", "drive_coil_feedback"]


def test_dominated_options_are_marked_and_only_by_what_is_safe_and_no_dearer():
    worse = option("constant_torque_motor", 1700.0 + 450.0 * SPREAD, sound=-1.0, cost=1000.0)
    rows = {row["id"]: row["dominated_by"] for row in rank(result(NOW, TAP, worse))["order"]}
    assert rows == {"leave_as_is": None, "lower_tap": None, "constant_torque_motor": "lower_tap"}
    unsafe = TAP | {"safe": False}
    rows = {row["id"]: row["dominated_by"] for row in rank(result(NOW, unsafe, worse))["order"]}
    assert rows["constant_torque_motor"] is None


def test_two_that_cannot_be_told_apart_are_named_with_the_reading_that_would():
    other = option("seal_ducts", 1300.0 + 420.0 * SPREAD + 200.0 * SPREAD)  # better where the airflow is low
    pairs = rank(result(NOW, DRIVE, other))["cannot_tell"]
    assert pairs == [{"options": ["drive_coil_feedback", "seal_ducts"], "reading": "airflow"}]
    noise = option("seal_ducts", 1300.0 + 420.0 * SPREAD + 200.0 * np.tile([-1.0, 1.0], COUNT // 2))
    assert rank(result(NOW, DRIVE, noise))["cannot_tell"][0]["reading"] is None


def test_a_reading_that_never_varied_separates_nothing():
    assert separating({"airflow": [1.0] * COUNT}, SPREAD) is None


def test_an_unknown_aim_is_refused():
    with pytest.raises(InputError, match="aim 'cosy' is not known; use one of dry, quiet"):
        rank(result(NOW), "cosy")


def test_two_together_cost_what_the_dearer_part_costs():
    both = option("combination", 1290.0 + 420.0 * SPREAD, parts=("seal_ducts", "lower_tap"))
    assert rank(result(NOW, DRIVE, both))["recommended"] == "drive_coil_feedback"


def test_the_users_prices_go_before_the_trades_order_once_all_are_known():
    """A motor at 300 is cheaper than a drive at 600, though the trade would try the drive first."""
    motor = option("constant_torque_motor", 1290.0 + 420.0 * SPREAD, sound=-4.0, cost=990.0) | {"price": 300.0}
    dear = DRIVE | {"price": 600.0}
    assert rank(result(NOW, dear, motor))["recommended"] == "constant_torque_motor"
    assert rank(result(NOW, DRIVE, motor))["recommended"] == "drive_coil_feedback"


def test_refusals_say_that_the_aim_cannot_be_reached_and_why():
    """A house whose wettest month is mild cannot be promised dryness by airflow (field practice, blower.md and field.md 7)."""
    found = SimpleNamespace(
        job=SimpleNamespace(
            options=SimpleNamespace(aim="dry"),
            complaint=SimpleNamespace(kinds=["damp"]),
            thermostat=SimpleNamespace(set_point=SimpleNamespace(si=24.0)),
        )
    )
    humidity = [0.45] * 12
    humidity[3] = 0.70

    def with_met(share, safe=True):
        met = {"id": "aim_met", "low": 0.0, "mid": share, "high": 1.0, "unit": "fraction"}
        return {"status": "run", "safe": safe, "figures": [met], "monthly_relative_humidity": humidity}

    mild, hot = (SimpleNamespace(dry_bulb_c=np.full(8760, value)) for value in (16.0, 26.0))
    ids = [one["id"] for one in refusals(found, [with_met(0.0)], mild)]
    assert ids == ["option_told.cannot_reach_dry", "option_told.because_mild", "option_told.mild_4"]
    ids = [one["id"] for one in refusals(found, [with_met(0.0), with_met(0.9, safe=False)], hot)]
    assert ids == ["option_told.cannot_reach_dry", "option_told.because_limits", "option_told.mild_week"]
    assert [one["id"] for one in refusals(found, [with_met(0.5)], hot)] == ["option_told.mild_week"]
    assert all(known(one) for one in ids)


def test_every_note_and_refusal_has_its_sentence():
    said = set()
    for path in (Path(__file__).resolve().parents[3] / "src" / "airtrim" / "work" / "options").glob("*.py"):
        said |= set(re.findall(r'"(option_(?:note|told|why)\.[a-z_0-9]+)"', path.read_text(encoding="utf-8")))
    assert len(said) > 25
    assert sorted(one for one in said if not known(one)) == []
    for aim in AIMS:
        assert known(f"aim.{aim}")
        assert known(f"option_told.cannot_reach_{aim}")
    assert all(known(f"option.{one}") and known(f"back.{one}") for one in IDS)
    assert all(known(f"option_reading.{one}") for one in DRAWN)
    assert all(known(f"option_told.mild_{month}") for month in range(1, 13))
