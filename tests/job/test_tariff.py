"""Tariffs in the job file: what can be meant is read, what cannot is refused in one sentence with its place."""

import pytest

from airtrim.core.errors import JobError
from airtrim.job import new_job_text, parse_job
from airtrim.job.files import json_schema

PERIODS = """
[tariff]
time_zone = "America/New_York"
[[tariff.periods]]
name = "on-peak"
days = "weekdays"
start = "14:00"
end = "19:00"
price_per_kwh = 0.30
[[tariff.periods]]
name = "off-peak"
days = "weekdays"
start = "19:00"
end = "14:00"
price_per_kwh = 0.09
[[tariff.periods]]
name = "weekend"
days = "weekend"
start = "00:00"
end = "00:00"
price_per_kwh = 0.09
"""
SEASONS = """
[tariff]
other_use = "600 kWh/month"
[[tariff.seasons]]
name = "summer"
start = "06-01"
end = "09-30"
tiers = [{up_to_kwh = 650, price_per_kwh = 0.06}, {price_per_kwh = 0.11}]
[[tariff.seasons]]
name = "winter"
start = "10-01"
end = "05-31"
price_per_kwh = 0.06
"""


def tariff_of(text):
    return parse_job(new_job_text() + text, "x.toml").tariff


def test_nothing_stated_is_no_price():
    assert not tariff_of("").is_known


@pytest.mark.parametrize("text", [PERIODS, SEASONS, "\n[tariff]\nprice_per_kwh = 0.14\n"])
def test_each_way_to_state_prices_is_read(text):
    tariff = tariff_of(text)
    assert tariff.is_known
    assert len(tariff.parts) == (2 if text is SEASONS else 1)


def test_a_season_may_run_over_the_new_year_and_a_period_over_midnight():
    tariff = tariff_of(SEASONS)
    assert [int(season.days.sum()) for season in tariff.seasons] == [122, 243]  # June to September: 30 + 31 + 31 + 30
    peak, rest, weekend = tariff_of(PERIODS).periods
    assert [int(one.quarters.sum()) for one in (peak, rest, weekend)] == [20, 76, 96]


@pytest.mark.parametrize(
    ("text", "good", "bad", "sentence"),
    [
        (PERIODS, 'end = "19:00"', 'end = "18:30"', r"tariff: weekdays 18:30 to 19:00 have no price: add a period"),
        (PERIODS, 'start = "14:00"', 'start = "13:00"', r"weekdays 13:00 lies in both on-peak and off-peak"),
        (PERIODS, 'end = "19:00"', 'end = "19:10"', r"period on-peak begins or ends off the quarter hour"),
        (PERIODS, 'time_zone = "America/New_York"', "", r"prices by time of day need time_zone"),
        (PERIODS, "America/New_York", "America/Nowhere", r'the time zone "America/Nowhere" is not known'),
        (PERIODS, '"14:00"', '"26:00"', r'needs a time of day such as "22:00", got "26:00"'),
        (PERIODS, "0.30", "0.0", r"periods.1.price_per_kwh: a price must be above 0"),
        (SEASONS, "0.11", "-0.11", r"price_per_kwh: a price must be above 0"),
        (SEASONS, 'end = "05-31"', 'end = "05-30"', r"05-31 lies in no season: the seasons must cover the whole year"),
        (SEASONS, 'end = "05-31"', 'end = "06-02"', r"06-01 lies in both summer and winter"),
        (SEASONS, 'end = "05-31"', 'end = "05-32"', r'needs a month and a day such as "06-01", got "05-32"'),
        (SEASONS, 'other_use = "600 kWh/month"', "", r"tiers need other_use"),
        (SEASONS, "up_to_kwh = 650, ", "", r"the last tier, and it alone, has no up_to_kwh"),
        (SEASONS, "price_per_kwh = 0.06\n", "", r"season winter has no price"),
        (SEASONS, "[tariff]\n", "[tariff]\nprice_per_kwh = 0.1\n", r"price_per_kwh and seasons each set the price"),
        (SEASONS, "[tariff]\n", "[tariff]\nrider_per_kwh = -0.2\n", r"a kWh would cost nothing or less"),
        (SEASONS, "other_use", "other_uses", r'this key is not known; did you mean "other_use"\?'),
        (PERIODS, 'name = "weekend"', 'nam = "weekend"', r'this key is not known; did you mean "name"\?'),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(text, good, bad, sentence):
    assert good in text
    with pytest.raises(JobError, match=sentence) as caught:
        tariff_of(text.replace(good, bad, 1))
    assert str(caught.value).startswith("x.toml")
    assert "\n" not in str(caught.value)


def test_the_schema_of_the_job_file_knows_the_tariff():
    assert {"Tariff", "PriceSeason", "Period", "Tier"} <= set(json_schema()["$defs"])
