"""Chances as they are claimed, and what is said where no airflow keeps the limits."""

import numpy as np
import pytest
from scipy.stats import binomtest

from airtrim.report.settings_page import unmet_sentence
from airtrim.work.findings.parameters import CFM
from airtrim.work.settings.judge import Measured, broken, chance_of, violation
from airtrim.work.settings.knobs import space_of
from airtrim.work.settings.walls import binding_pair, unmet
from tests.work.settings.settings_cases import prepared


@pytest.mark.parametrize("hits", range(8))
def test_chance_is_the_one_sided_bound_of_a_binomial_test(hits):
    """scipy.stats.binomtest's exact (Clopper-Pearson) limit [independent-code]."""
    chance = chance_of("coil", np.arange(200) < hits)
    assert chance.at_most == pytest.approx(binomtest(hits, 200, alternative="less").proportion_ci(0.95).high, rel=1e-9)
    assert chance.claimed == (hits <= 4)


def test_fewer_systems_claim_nothing():
    assert not chance_of("coil", np.zeros(199, dtype=bool)).claimed
    assert chance_of("coil", np.ones(3, dtype=bool)).at_most == 1.0


def read(least, low, frost=0.0, missed=0.0, sweat=0.0):
    """Two systems, leaving it alone and one setting: each argument is what the setting has, nought being left alone's 5 K."""
    both = np.zeros((2, 2))
    margins = [np.array([[5.0, value], [5.0, value + 1.0]]) for value in (least, low)]
    rest = [both + np.array([0.0, value]) for value in (frost, missed, sweat)]
    return Measured(both, *margins, *rest)


def test_the_coldest_moment_counts_in_the_typical_year_and_five_per_cent_of_the_time_elsewhere():
    momentary = read(-0.5, 2.0)
    assert broken(momentary, "typical")["coil"][:, 1].tolist() == [True, False]
    assert not broken(momentary, "cold")["coil"].any()
    assert violation(momentary, "typical")["coil"][1] == pytest.approx(1.0)
    assert violation(momentary, "cold")["coil"][1] == 0.0


def test_a_coil_as_cold_as_it_is_now_is_not_the_settings_doing():
    same = Measured(*(np.zeros((2, 2)) for _ in range(1)), np.full((2, 2), -1.0), np.full((2, 2), -1.0),
                    *(np.zeros((2, 2)) for _ in range(3)))  # fmt: skip
    assert not broken(same, "typical")["coil"].any()
    assert violation(same, "typical")["coil"].max() == 0.0


def test_hours_lost_frost_and_sweat_break_their_limits():
    bad = read(3.0, 3.0, frost=20.0, missed=60.0, sweat=150.0)
    over = violation(bad, "typical")
    assert over["frost"][1] == pytest.approx(19.0) and over["set_point"][1] == pytest.approx(2.0)  # an hour is allowed
    assert over["sweat"][1] == pytest.approx(0.5)
    assert violation(bad, "cold")["frost"][1] == pytest.approx(1.0)  # ten hours are, in the hardest case
    assert violation(bad, "cold")["set_point"][1] == 0.0  # the coldest set-point is missed on purpose


def row(**read_and_bound):
    """Limits at one airflow: name=(figure, bound), at least."""
    return [
        {"id": name, "status": "fail" if value < bound else "pass", "bound": bound, "at_least": True,
         "figure": {"low": value, "mid": value, "high": value, "unit": "m3/s"}}
        for name, (value, bound) in read_and_bound.items()
    ]  # fmt: skip


def test_binding_pair_and_least_relaxation():
    """More air keeps one limit and breaks the other; least given way on is 0.02 of 0.50 [own-derivation]."""
    rows = [
        row(maker_least_airflow=(0.40, 0.50), winding_rise=(0.9, 0.6), third=(0.0, 0.1)),
        row(maker_least_airflow=(0.48, 0.50), winding_rise=(0.7, 0.6), third=(1.0, 0.1)),
        row(maker_least_airflow=(0.55, 0.50), winding_rise=(0.5, 0.6), third=(0.2, 0.1)),
    ]
    found = binding_pair(rows)
    assert {found.first, found.second} == {"maker_least_airflow", "winding_rise"}
    assert found.relaxed == "maker_least_airflow" and found.by == pytest.approx(0.02)
    assert binding_pair([*rows, row(maker_least_airflow=(0.6, 0.5))]) is None
    assert binding_pair([]) is None


def test_a_listed_airflow_that_the_blower_cannot_move_is_named_with_what_would_do():
    found, now, _ = prepared("1700 cfm")
    space = space_of(found, now, "drive_coil_feedback")
    told = unmet(found, space)
    assert told.relaxed == "maker_least_airflow" and told.second == ""
    sentence = unmet_sentence(vars(told), "inch_pound")
    full = round(found.airflow.m3_s / CFM / 10.0) * 10
    assert "1,700 cfm" in sentence and f"{full:,} cfm" in sentence and f"{1700 - full} cfm" in sentence
    assert sentence.count(". ") == 0
    assert unmet(prepared()[0], space_of(prepared()[0], now, "drive_coil_feedback")) is None
