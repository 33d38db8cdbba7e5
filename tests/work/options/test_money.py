"""Bills by hand, and payback and present value against printed tables."""

import numpy as np
import pytest

from airtrim.core.errors import InputError, OutOfRangeError
from airtrim.job.tariff import Tariff
from airtrim.work.options.money import Terms, added_bill, monthly_bills, net_present_value, payback_years

NOTHING = np.zeros((12, 24))


def used(month, hour, kwh):
    """kWh in one month (from 1) and one hour of the day (standard time)."""
    energy = NOTHING.copy()
    energy[month - 1, hour] = kwh
    return energy


def periods(**more):
    return Tariff.model_validate(
        {
            "time_zone": "America/New_York",
            "periods": [
                {"name": "on", "days": "weekdays", "start": "14:00", "end": "19:00", "price_per_kwh": 0.30},
                {"name": "off", "days": "weekdays", "start": "19:00", "end": "14:00", "price_per_kwh": 0.10},
                {"name": "weekend", "days": "weekend", "start": "00:00", "end": "00:00", "price_per_kwh": 0.10},
            ],
        }
        | more
    )


# own-derivation, worked by hand beside each line
@pytest.mark.parametrize(
    ("month", "hour", "expected"),
    [
        (7, 13, 17.0),  # 13:00 standard is 14:00 in July: 5/7 of 70 kWh at 0.30 = 15, 2/7 at 0.10 = 2
        (1, 13, 7.0),  # 13:00 in January: all off-peak
        (1, 14, 17.0),
        (7, 18, 7.0),  # 18:00 standard is 19:00 in July, when the peak is over
        (1, 18, 17.0),
        (7, 23, 7.0),  # midnight of the next civil day
        (3, 13, 7.0 + 50.0 * 0.2 * 23.0 / 31.0),  # in 2025 clocks went forward on 9 March: 23 of 31 afternoons
        (11, 13, 7.0 + 50.0 * 0.2 * 1.0 / 30.0),  # and back on 2 November: 1 of 30
    ],
)
def test_time_of_use_counts_in_civil_time(month, hour, expected):
    assert added_bill(periods(), used(month, hour, 70.0)) == pytest.approx(expected, rel=1e-12)


def test_a_quarter_hour_is_told_apart():
    """From 14:30: half of an hour's 70 kWh on five days in seven, 25 at 0.30 and 45 at 0.10 (own-derivation)."""
    one = periods(
        periods=[
            {"name": "on", "days": "weekdays", "start": "14:30", "end": "19:00", "price_per_kwh": 0.30},
            {"name": "off", "days": "weekdays", "start": "19:00", "end": "14:30", "price_per_kwh": 0.10},
            {"name": "weekend", "days": "weekend", "start": "00:00", "end": "00:00", "price_per_kwh": 0.10},
        ]
    )
    assert added_bill(one, used(1, 14, 70.0)) == pytest.approx(25 * 0.30 + 45 * 0.10, rel=1e-12)


def test_a_whole_bill_in_tiers_with_everything_on_top():
    """By hand: July has 31 days, so 30 kWh a day of other use is 930 kWh, and 400 of cooling makes 1,330:
    650 at 0.06, 350 at 0.10, 330 at 0.11 = 39 + 35 + 36.3 = 110.3; rider 0.03 x 1,330 = 39.9; fixed 10; demand 5 x 3 kW = 15;
    together 175.2, and 8 % tax on it: 189.216 (own-derivation)."""
    tariff = Tariff.model_validate(
        {
            "tiers": [
                {"up_to_kwh": 650.0, "price_per_kwh": 0.06},
                {"up_to_kwh": 1000.0, "price_per_kwh": 0.10},
                {"price_per_kwh": 0.11},
            ],
            "other_use": "1.25 kW",
            "fixed_per_month": 10.0,
            "rider_per_kwh": 0.03,
            "demand_per_kw": 5.0,
            "tax": "8 %",
        }
    )
    demand = np.zeros(12)
    demand[6] = 3.0
    bills = monthly_bills(tariff, used(7, 15, 400.0), demand)
    assert bills[6] == pytest.approx(189.216, rel=1e-12)
    # cooling alone: 70 kWh in the middle tier, 330 in the last
    assert added_bill(tariff, used(7, 15, 400.0), demand) == pytest.approx(
        1.08 * (70 * 0.10 + 330 * 0.11 + 400 * 0.03 + 15), rel=1e-12
    )


def test_seasons_take_their_days_of_a_month():
    """Summer from 16 June: 15 of 30 days, so 300 kWh spread over June are 150 at 0.20 and 150 at 0.10; with tiers of 600 kWh a
    month 300 of them fall to half a month (own-derivation)."""
    flat = Tariff.model_validate(
        {
            "seasons": [
                {"name": "summer", "start": "06-16", "end": "09-30", "price_per_kwh": 0.20},
                {"name": "rest", "start": "10-01", "end": "06-15", "price_per_kwh": 0.10},
            ]
        }
    )
    assert added_bill(flat, used(6, 12, 300.0)) == pytest.approx(45.0, rel=1e-12)
    tiers = Tariff.model_validate(
        {
            "other_use": "0.001 kW",
            "seasons": [
                {
                    "name": "summer",
                    "start": "06-16",
                    "end": "09-30",
                    "tiers": [{"up_to_kwh": 600.0, "price_per_kwh": 0.10}, {"price_per_kwh": 0.30}],
                },
                {"name": "rest", "start": "10-01", "end": "06-15", "price_per_kwh": 0.10},
            ],
        }
    )
    # 800 kWh in June: 400 in summer of which 300 (less the house's 0.36) are at 0.10 and the rest at 0.30, 400 at 0.10 before
    expected = 0.10 * (300.0 - 0.36) + 0.30 * (100.0 + 0.36) + 0.10 * 400.0
    assert added_bill(tiers, used(6, 12, 800.0)) == pytest.approx(expected, rel=1e-9)


def test_many_houses_at_once_give_the_same_as_one_by_one():
    energy = np.random.default_rng(1).uniform(0.0, 5.0, (3, 2, 12, 24))
    together = added_bill(periods(), energy)
    assert together.shape == (3, 2)
    assert together[2, 1] == pytest.approx(float(added_bill(periods(), energy[2, 1])), rel=1e-12)


def test_no_price_and_no_number_are_refused():
    with pytest.raises(InputError, match="states no price"):
        monthly_bills(Tariff(), NOTHING)
    with pytest.raises(OutOfRangeError, match="0 or more"):
        monthly_bills(Tariff(price_per_kwh=0.1), used(1, 1, float("nan")))


# Present worth of 1 a year, tables of compound interest in engineering economy books [from-memory], four decimals.
@pytest.mark.parametrize(
    ("rate", "years", "factor"), [(0.03, 10, 8.5302), (0.05, 10, 7.7217), (0.05, 20, 12.4622), (0.07, 15, 9.1079)]
)
def test_present_value_is_that_of_the_tables(rate, years, factor):
    got = net_present_value(1000.0, np.array([0.0, 200.0]), Terms(rate, years))
    assert got == pytest.approx([-1000.0, 200.0 * factor - 1000.0], abs=200.0 * 0.00005)


def test_present_value_without_a_rate_is_the_sum():
    assert net_present_value(100.0, np.array([30.0]), Terms(0.0, 5)) == pytest.approx([50.0])


def test_payback():
    assert payback_years(600.0, np.array([120.0, 0.0, -5.0])).tolist() == [5.0, np.inf, np.inf]
    assert payback_years(0.0, np.array([-5.0, 5.0])).tolist() == [0.0, 0.0]


# numpy-financial 1.0.0, npv() of the first cost and equal savings, and nper() at no interest (independent code).
@pytest.mark.parametrize(
    ("cost", "saving", "rate", "years", "value", "payback"),
    [
        (1800.0, 260.0, 0.03, 10, 417.85273756171534, 6.923076923076923),
        (650.0, 95.5, 0.045, 12, 220.82446456264393, 6.806282722513089),
        (7200.0, 410.0, 0.02, 18, -1053.267186795276, 17.5609756097561),
        (900.0, 40.0, 0.06, 10, -605.5965179434121, 22.5),
    ],
)
def test_present_value_and_payback_are_those_of_numpy_financial(cost, saving, rate, years, value, payback):
    assert net_present_value(cost, np.array([saving]), Terms(rate, years)) == pytest.approx([value], rel=1e-12)
    assert payback_years(cost, np.array([saving])) == pytest.approx([payback], rel=1e-12)
