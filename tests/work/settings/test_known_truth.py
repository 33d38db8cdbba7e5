"""Settings against systems they were not searched with, and the arithmetic of the benchmark that does so at length."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest

from airtrim.physics.season.year import run_years
from airtrim.work.findings import find
from airtrim.work.settings.choose import choose_settings
from airtrim.work.settings.judge import Measured, broken, may_break, measured, violation
from airtrim.work.settings.scenarios import TYPICAL, program_under
from airtrim.work.settings.search import along_limits, spread_places
from benchmarks.bench_settings import entries_of, exact_range, least_kept
from tests.work.settings.settings_cases import SMALL, prepared

UNSEEN = 8
#: A circuit starved by so much more, K, that the limit binds on this job.
COLDER_K = 4.0


def colder(system):
    return replace(system, circuit_offset_k=system.circuit_offset_k + COLDER_K)


def test_the_setting_keeps_the_coil_of_systems_it_was_not_searched_with():
    """Eight systems drawn apart, at 10 s: no more break the limit than a promise of 19 in 20 leaves room for (binomial, 1 %); far
    less air breaks it in more of them."""
    found, now, years = prepared()
    found = replace(found, system=colder(found.system))
    chosen = choose_settings(found, now, "drive_coil_feedback", years.typical, effort=SMALL, years=years, proof=False)
    assert chosen.choice
    others = colder(find(found.job, years.typical, UNSEEN, seed=99).system)
    last = len(chosen.space.knobs[1].values) - 1
    able = (chosen.space.candidate((first, last)) for first in range(len(chosen.space.knobs[0].values)))
    icy = next(one for one in able if one.program is not None)
    programs = [program_under(one.program, TYPICAL, found.job, 0.0) for one in (now, chosen.candidate, icy)]
    read = measured(run_years(others, programs, years.typical, 10.0), "dry")
    hits = broken(read, TYPICAL.id)["coil"].sum(axis=0)
    assert binomtest(int(hits[1]), UNSEEN, 0.05, alternative="greater").pvalue > 0.01
    assert hits[2] > hits[1]
    assert read.aim[:, 1].mean() < read.aim[:, 0].mean() - 50.0


def test_a_system_that_misses_its_set_point_counts_by_itself_outside_the_typical_year():
    """A proof counts systems: one of two that loses 70 h breaks its limit of 40 h, though their mean of 35 h does not."""
    nought = np.zeros((2, 2))
    read = Measured(nought, nought + 5.0, nought + 5.0, nought, np.array([[0.0, 70.0], [0.0, 0.0]]), nought)
    assert broken(read, "hot")["set_point"][:, 1].tolist() == [True, False]
    assert violation(read, "hot")["set_point"][1] == pytest.approx(0.75)
    assert violation(read, "hot", may=1)["set_point"][1] == 0.0
    assert violation(read, "hot", late_allowed=1.5)["set_point"][1] == pytest.approx(0.25)
    assert violation(read, "typical")["set_point"][1] == pytest.approx(0.75)  # 35 h of a mean of 20 h


def test_as_many_may_break_a_limit_as_the_claim_leaves_room_for():
    assert [may_break(count) for count in (8, 19, 20, 32, 200)] == [0, 0, 1, 1, 4]
    assert set(along_limits((5, 2), (10, 4), 4)) == {(1, 1), (1, 3), (9, 1), (9, 3)}
    assert along_limits((5, 3), (10, 4), 5) == [(0, 2)]
    assert along_limits((5,), (10,), 1) == []
    assert spread_places(np.arange(32), 4, may_break(32))[0] == 1


class Space:
    """Two knobs of 10 and 4 steps."""

    knobs = tuple(type("Knob", (), {"values": tuple(range(count))}) for count in (10, 4))


@pytest.mark.parametrize("bounds", [(3, 5, 0, 9), (10, 2, 9, 4)])
def test_the_least_that_is_kept_is_found_at_each_sensor_drop(bounds):
    """Trying everything [own-derivation]; a drop at which nothing is kept has none."""
    found = least_kept(Space, lambda choices: [first >= bounds[drop] for first, drop in choices])
    assert found == [(bound, drop) for drop, bound in enumerate(bounds) if bound < 10]


def test_the_benchmarks_range_is_the_binomial_tests():
    """scipy.stats.binomtest, exact limits [independent-code]."""
    for hits in (0, 13, 20):
        own = binomtest(hits, 20).proportion_ci(0.90, "exact")
        assert exact_range(hits, 20) == pytest.approx((own.low, own.high), abs=1e-9)


def test_a_house_is_missed_by_any_limit_offered_on_and_regret_may_lie_below_nought():
    def house(**changed):
        kept = dict.fromkeys(("coil", "frost", "set_point", "sweat"), False)
        return {"offered": True, "broken": kept | changed, "stated": dict.fromkeys(kept, 0.03), "loop_k": -0.01,
                "regret": -0.02, "regret_knowing": None}  # fmt: skip

    tried = [house(), house(coil=True), house(sweat=True), {"offered": False}]
    told = {one["bench"]: one["value"] for one in entries_of(tried)}
    assert told["settings_offered"] == 0.75
    assert told["settings_limits_held"] == pytest.approx(2 / 3)
    assert told["settings_limits_held.coil"] == told["settings_limits_held.sweat"] == pytest.approx(2 / 3)
    assert told["settings_limits_held.coil_stated"] == pytest.approx(0.97)
    assert told["settings_regret"] == -0.02 and "settings_regret.knowing" not in told
