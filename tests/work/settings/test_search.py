"""The search against trying everything, its limits, its repeatability; stitched weeks against the year."""

import numpy as np
import pytest

from airtrim.core.errors import Cancelled
from airtrim.physics.season.weeks import DAYS_OF_MONTH, WHOLE_YEAR, representative_weeks
from airtrim.work.settings.knobs import space_of, steps_of
from airtrim.work.settings.scenarios import COLD, HOT, TYPICAL, UNDER, program_under, run_under, systems_at
from airtrim.work.settings.search import Search, neighbours, spread_places
from tests.work.settings.settings_cases import SMALL, prepared


@pytest.fixture(scope="module")
def space():
    found, now, _ = prepared()
    return space_of(found, now, "drive_coil_feedback")


def searched(space, seed=1, effort=SMALL, progress=None):
    found, now, years = prepared()
    search = Search(found, now, space, years, effort, progress, seed)
    search.run()
    return search


@pytest.fixture(scope="module")
def search(space):
    return searched(space)


def every(space):
    return [tuple(int(i) for i in place) for place in np.ndindex(*(len(knob.values) for knob in space.knobs))]


def test_the_space_is_the_cards_own_steps(space):
    hertz, drop = space.knobs
    assert hertz.values == (42.0, 45.0, 48.0, 51.0, 54.0, 57.0, 60.0)
    assert np.allclose(np.array(drop.values) * 1.8, [20.0, 22.0, 24.0, 26.0, 28.0, 30.0])


def test_a_range_thinned_keeps_its_ends_and_lands_on_its_steps():
    found, _, _ = prepared()
    from airtrim.job.cards import generic_card

    given = generic_card("speed_control_by_frequency").settings.frequency
    values = steps_of(given, 30.0, 60.0, 0.5)
    assert values[0] == 30.0 and values[-1] == 60.0 and len(values) <= 48
    assert all(abs(2.0 * value - round(2.0 * value)) < 1e-9 for value in values)
    assert found.lowest is not None


def test_evolution_finds_what_trying_everything_finds(space, search):
    """Exhaustive search on a small case [own-derivation]: nothing tried is better beyond noise on the same weeks."""
    others = Search(search.found, search.now, space, search.years, SMALL, None, 1)
    others._measure_stitching()
    whole = others.judge(every(space), whole=False)
    best = min(whole, key=lambda one: one.score)
    found = min(search.tried.values(), key=lambda one: one.score)
    assert len(search.tried) < len(whole)
    assert found.broken == best.broken == 0.0
    assert not search.better(best, found)


def test_a_grid_around_the_result_is_no_better_beyond_noise(space, search):
    """Every neighbour that keeps the limits is no better; a result moved off its place would be found out."""
    assert search.best is not None
    around = neighbours(search.best.choice, [len(knob.values) for knob in space.knobs], 1)
    judged = search.judge(around, whole=True)
    kept = [one for one in judged if one.broken == 0.0]
    assert kept
    assert [one.choice for one in kept if search.better(one, search.best)] == []
    worst = search.judge([(len(space.knobs[0].values) - 1, 0)], whole=True)[0]
    assert search.better(search.best, worst)  # the comparison can tell two settings apart


def test_the_result_keeps_its_limits_where_less_air_breaks_them_or_is_not_better(space, search):
    best = search.best
    assert best is not None and best.broken == 0.0
    assert best.coil_left_k >= 0.0
    assert best.choice[0] > 0  # the least airflow of the card would ice this coil
    least = search.judge([(0, best.choice[1])], whole=True)[0]
    assert least.broken > 0.0


def test_the_same_seed_gives_the_same_answer(space, search):
    again = searched(space)
    assert again.best is not None and search.best is not None
    assert again.best.choice == search.best.choice
    assert list(again.tried) == list(search.tried)
    assert again.best.by_system.tobytes() == search.best.by_system.tobytes()


def test_it_stops_when_told_to(space):
    heard = []

    def progress(done):
        heard.append(done)
        return len(heard) > 3

    with pytest.raises(Cancelled):
        searched(space, progress=progress)
    assert heard == sorted(heard)


def test_stitched_weeks_stand_for_the_year(space, search):
    """Whole year against stitched weeks, same systems: the change that a setting makes lies within a quarter of the year's."""
    found, now, years = prepared()
    weeks = representative_weeks(years.typical)
    counted = [month for _, month in weeks.days if month >= 0]
    assert [counted.count(month) for month in range(12)] == [7] * 12
    assert np.allclose(np.array(weeks.weights) * 7.0, DAYS_OF_MONTH)
    candidates = [now, space.candidate((2, 4))]
    whole, stitched = (
        run_under(found, candidates, TYPICAL, years, 60.0, 1.1, None, calendar) for calendar in (WHOLE_YEAR, weeks)
    )
    change = [(one.damp_hours[:, 1] - one.damp_hours[:, 0]).mean() for one in (whole, stitched)]
    assert change[0] < -100.0
    assert abs(change[1] / change[0] - 1.0) < 0.25
    assert np.all(np.isnan(stitched.water_balance)) and np.all(np.abs(whole.water_balance) < 1e-9)
    assert abs(stitched.compressor_kwh.mean() / whole.compressor_kwh.mean() - 1.0) < 0.25


def test_every_hard_case_is_harder_where_it_should_be(space):
    found, now, years = prepared()
    chosen = space.candidate((3, 4))
    typical, cold, hot, under = (
        run_under(found, [now, chosen], one, years, 60.0, 1.1, [0, 1, 2]) for one in (TYPICAL, COLD, HOT, UNDER)
    )
    assert np.all(cold.low_icing_margin_k[:, 1] < typical.low_icing_margin_k[:, 1])
    assert np.all(under.mean_flow_fraction[:, 1] > typical.mean_flow_fraction[:, 1])
    # a system that is on its least airflow nearly all the time has no less to give: its starts alone tell the two apart
    less = typical.mean_flow_fraction[:, 1] - hot.mean_flow_fraction[:, 1]
    assert np.all(less > -1e-3) and np.max(less) > 2e-3


def test_a_sensor_error_is_only_put_where_there_is_a_sensor():
    found, now, _ = prepared()
    assert program_under(now.program, COLD, found.job, 1.1).sensor_error_k == 0.0
    assert program_under(now.program, COLD, found.job, 1.1).cooling_set_point_c < now.program.cooling_set_point_c


def test_places_are_the_coldest_but_the_spared_and_spread_over_the_rest():
    order = np.arange(200)[::-1]
    assert spread_places(order, 4)[0] == 195  # four colder ones may break the limit
    assert spread_places(order, 4)[-1] == 0
    assert spread_places(np.arange(8), 12) == list(range(8))
    found, _, _ = prepared()
    picked = systems_at(found.system, [5, 2])
    assert picked.full_flow_kg_s.tolist() == found.system.full_flow_kg_s[[5, 2]].tolist()
