"""Hardware cards: by kind as shipped, from a file beside the job, inside the job; one sentence for what is wrong."""

import pytest

from airtrim.core.errors import JobError
from airtrim.job import load_job, new_job_text, parse_job
from airtrim.job.cards import KINDS, NEEDED, entered_cards, generic_card, read_card

CARD = """
airtrim_card = 1
kind = "constant_airflow_motor"
name = "The one on the van"
price = 780.0
[settings]
airflow = {low = "500 cfm", high = "1600 cfm", step = "50 cfm"}
coil_sensor_drop = {low = "10 F", high = "30 F"}
[[sensors]]
kind = "coil_temperature"
accuracy = "1.5 F"
[[sensors]]
kind = "return_temperature"
[limits]
motors = ["psc"]
[[efficiency]]
load = "100 %"
efficiency = "80 %"
[on_fault]
sensor_lost = "full_airflow"
"""
CFM = 0.0004719474432


@pytest.mark.parametrize("kind", KINDS)
def test_a_card_of_every_kind_comes_along_without_price(kind):
    card = generic_card(kind)
    assert card.kind == kind
    assert card.price is None
    assert all(getattr(card.settings, name) is not None for name in NEEDED[kind])


def test_a_users_card_is_read_with_its_units():
    card = read_card(CARD, "mine.toml")
    airflow = card.settings.airflow
    assert airflow.low.si == pytest.approx(500 * CFM)
    assert airflow.nearest(777 * CFM) == pytest.approx(800 * CFM)
    assert airflow.nearest(9000 * CFM) == pytest.approx(1600 * CFM)
    assert airflow.allows(500 * CFM)
    assert not airflow.allows(499 * CFM)
    assert card.settings.coil_sensor_drop.high.si == pytest.approx(30 / 1.8)
    assert card.holds_the_coil
    assert not generic_card("constant_airflow_motor").holds_the_coil
    assert card.refuses("constant_torque")
    assert not card.refuses("psc")
    assert not generic_card("thermostat_that_dries").refuses("psc")


@pytest.mark.parametrize(
    ("good", "bad", "sentence"),
    [
        ("airflow = {", "airflw = {", r'settings.airflw: this key is not known; did you mean "airflow"\?'),
        ("price = 780.0", "prise = 780.0", r'prise: this key is not known; did you mean "price"\?'),
        ("price = 780.0", "price = 0", r"price: a price must be above 0, got 0"),
        ("price = 780.0", "price = -5", r"price: a price must be above 0"),
        (
            'airflow = {low = "500 cfm", high = "1600 cfm", step = "50 cfm"}',
            "",
            r"needs settings.airflow with low and high",
        ),
        ('low = "500 cfm", ', "", r"settings.airflow: the setting's low is missing"),
        ('low = "500 cfm"', 'least = "500 cfm"', r"settings.airflow: least is not known in a setting"),
        ('"500 cfm"', '"500"', r"settings.airflow: low needs a number and a unit"),
        ('"500 cfm"', '"500 psi"', r"settings.airflow: low must be convertible to"),
        ('"500 cfm"', '"1700 cfm"', r'low "1700 cfm" is not below high "1600 cfm"'),
        ('"constant_airflow_motor"', '"constant_air_motor"', r'did you mean "constant_airflow_motor"\?'),
        ('"coil_temperature"', '"coil_heat"', r"sensors.1.kind: 'coil_heat' is not known"),
        ("sensor_lost", "sensor_gone", r"on_fault.sensor_gone: this key is not known"),
        (
            'efficiency = "80 %"',
            'efficiency = "4 %"',
            r"efficiency needs rising loads, each with an efficiency of 10 to 100 %",
        ),
        ('name = "The one on the van"', "", r"name: this value is missing"),
        ("airtrim_card = 1", "airtrim_card = 2", r"airtrim_card: Input should be 1"),
        ('kind = "constant', "kind = constant", r"mine.toml is not readable TOML"),
    ],
)
def test_what_is_wrong_with_a_card_is_said_in_one_sentence(good, bad, sentence):
    assert good in CARD
    with pytest.raises(JobError, match=sentence) as caught:
        read_card(CARD.replace(good, bad, 1), "mine.toml")
    assert str(caught.value).startswith("mine.toml")
    assert "\n" not in str(caught.value)


def job_with(line):
    return new_job_text() + f"\n[options]\ncards = {line}\n"


def test_a_job_reads_the_cards_beside_it(tmp_path):
    (tmp_path / "mine.toml").write_text(CARD)
    (tmp_path / "job.toml").write_text(job_with('["mine.toml", "dehumidifier"]'))
    cards = load_job(tmp_path / "job.toml").options.cards
    assert [card.kind for card in cards] == ["constant_airflow_motor", "dehumidifier"]
    assert cards[0].price == 780.0


def test_a_card_may_stand_inside_the_job():
    text = new_job_text() + '\n[[options.cards]]\nairtrim_card = 1\nkind = "reduced_voltage_control"\nname = "x"\n'
    text += 'settings = {volts = {low = "40 %", high = "100 %"}}\n'
    assert entered_cards(parse_job(text, "x").options.cards)[0].settings.volts.low.si == 0.4
    with pytest.raises(JobError, match=r'options.cards.*did you mean "volts"\?'):
        parse_job(text.replace("volts =", "vots ="), "x")


def test_cards_that_cannot_be_found_are_named(tmp_path):
    (tmp_path / "job.toml").write_text(job_with('["mine.toml"]'))
    with pytest.raises(JobError, match=r"mine.toml cannot be read \(FileNotFoundError\): put it beside the job file"):
        load_job(tmp_path / "job.toml")
    with pytest.raises(JobError, match=r'"dehumidifer" is neither.*did you mean "dehumidifier"\?'):
        parse_job(job_with('["dehumidifer"]'), "x")
    with pytest.raises(JobError, match="was not read with the job"):
        entered_cards(parse_job(job_with('["mine.toml"]'), "x").options.cards)
    with pytest.raises(JobError, match="two cards of the kind dehumidifier"):
        entered_cards(parse_job(job_with('["dehumidifier", "dehumidifier"]'), "x").options.cards)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            'prices = [{option = "lower_tap", price = 0}]',
            r"options.prices.1.price: a price must be above 0, got 0: write what it costs, or leave the line out",
        ),
        ('prices = [{option = "lower_tap", price = -40}]', r"a price must be above 0, got -40"),
        (
            'prices = [{option = "lower_tab", price = 40}]',
            r"options.prices.1.option: 'lower_tab' is not known; did you mean \"lower_tap\"\?",
        ),
        (
            'prices = [{option = "lower_tap", cost = 40}]',
            r"prices.1.cost: this key is not known; known here",
        ),
        (
            'prices = [{option = "lower_tap", price = 40}, {option = "lower_tap", price = 50}]',
            r"options: prices name lower_tap more than once",
        ),
        ('aim = "cosy"', r"aim: 'cosy' is not known; known here: dry, quiet"),
        ('rate = "90 %"', r"rate: .*0 to 20 %"),
    ],
)
def test_prices_and_terms_are_checked(line, sentence):
    with pytest.raises(JobError, match=sentence):
        parse_job(new_job_text() + f"\n[options]\n{line}\n", "x")


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            'water_removal = {low = "10 kg/day", high = "20 kg/day"}',
            r"needs energy_factor, such as \"1.8 L/kWh\": read it",
        ),
        ("", r"needs settings.water_removal with low and high: read its range"),
        (
            'water_removal = {low = "1 kg/day", high = "20 kg/day"}',
            r"needs settings.water_removal within 3 to 150 kg/day",
        ),
    ],
)
def test_a_dehumidifiers_card_says_what_it_takes_out_and_for_how_much(lines, sentence):
    factor = "" if "energy_factor" in sentence else 'energy_factor = "1.7 L/kWh"\n'
    text = f'airtrim_card = 1\nkind = "dehumidifier"\nname = "x"\n{factor}[settings]\nhumidity = {{low = "40 %", high = "60 %"}}\n'
    with pytest.raises(JobError, match=sentence):
        read_card(text + lines, "mine.toml")
