"""Stop signs stand above everything, each with its caution, on the terminal and on paper."""

import io

import pypdfium2
import pytest
from rich.console import Console

from airtrim.report.paper import paper_pdf
from airtrim.report.readings import lines
from airtrim.report.stops import CAUTION, every_message, stop_lines
from airtrim.report.terminal import print_summary
from airtrim.report.words import catalogue, say
from airtrim.work.readings import read_job
from tests.plans import demo_result
from tests.work.readings.readings_cases import job_with

SYSTEM = 'refrigerant = "R-410A"'
#: What was read or noted, and the sign it puts up. Limits: superheat 5 F and 32 F at the coil (common-practice), the motor's plate.
SIGNS = {
    "superheat": ('superheat = "1 F"', {}),
    "coil_freezing": ('saturated_suction = "27 F"', {}),
    "frost": ('coil = "frosted"\nreturn_dry_bulb = "75 F"', {}),
    "starved": ('return_dry_bulb = "80 F"\nsaturated_suction = "26 F"\nsuperheat = "1 F"', {}),
    "amps_above_plate": ('blower_amps = "6 A"', {"blower": 'nameplate_amps = "4.3 A"'}),
    "carbon_monoxide": ('return_dry_bulb = "75 F"', {"dangers": '["carbon_monoxide"]'}),
    "backdraft": ('return_dry_bulb = "75 F"', {"dangers": '["backdraft"]'}),
    "bare_conductor": ('return_dry_bulb = "75 F"', {"dangers": '["bare_conductor"]'}),
}


def answers_of(sign):
    reading, more = SIGNS[sign]
    more = dict(more)
    dangers = more.pop("dangers", None)
    # the place of the house's table is given by its last key
    job = job_with(reading, system=SYSTEM, **more)
    if dangers is not None:
        house = job.house.model_copy(update={"dangers": [dangers.strip('[]"')]})
        job = job.model_copy(update={"house": house})
    return read_job(job)


def test_every_sign_has_a_case_words_and_a_caution():
    signs = {name.removeprefix("reading.stop.") for name in catalogue() if name.startswith("reading.stop.")}
    assert signs == set(SIGNS) == set(CAUTION)
    assert all(f"caution.{one}" in catalogue() for one in CAUTION.values())
    assert all(say(f"reading.stop.{one}", {n: "x" for n in ("read", "less", "least", "amps", "plate")}).startswith("STOP")
               for one in signs)  # fmt: skip


@pytest.mark.parametrize("sign", SIGNS)
def test_the_sign_is_the_first_line_with_its_caution_and_said_once(sign):
    said = list(lines(answers_of(sign)))
    assert said[0].startswith("STOP: ")
    assert said[1].strip() == catalogue()[f"caution.{CAUTION[sign]}"]
    assert sum(line.strip() == said[0] for line in said) == 1


def test_two_signs_stand_before_all_else():
    job = job_with('superheat = "1 F"\nblower_amps = "6 A"\nreturn_dry_bulb = "75 F"\nsupply_dry_bulb = "58 F"',
                   blower='nameplate_amps = "4.3 A"')  # fmt: skip
    said = list(lines(read_job(job)))
    stops = [place for place, line in enumerate(said) if line.startswith("STOP")]
    assert stops == [0, 2]


def test_nothing_is_stopped_where_nothing_is_wrong():
    job = job_with(
        'superheat = "12 F"\nsaturated_suction = "45 F"\nblower_amps = "2 A"', blower='nameplate_amps = "4.3 A"'
    )
    assert stop_lines(every_message(read_job(job))) == []


@pytest.mark.parametrize("sign", SIGNS)
def test_terminal_and_paper_begin_with_the_sign(sign):
    result = demo_result()
    signs = [one for one in every_message(answers_of(sign)) if one["id"].startswith("reading.stop.")]
    result["findings"]["messages"] = [*signs, *result["findings"]["messages"]]
    out = io.StringIO()
    print_summary(result, Console(file=out, width=300))
    assert out.getvalue().startswith("STOP: ")
    assert catalogue()[f"caution.{CAUTION[sign]}"] in out.getvalue().splitlines()[1]
    page = pypdfium2.PdfDocument(paper_pdf(result, None))[0].get_textpage().get_text_range()
    flat = " ".join(page.split())
    assert flat.startswith("STOP: ")
    assert flat.index("Recommended") < flat.index("What was found")
    assert flat.count("STOP: ") == (
        3 if sign == "starved" else 1
    )  # near-nought superheat and a coil below freezing as well
    assert catalogue()[f"caution.{CAUTION[sign]}"][:40] in flat


def test_a_danger_noted_in_the_file_is_read(tmp_path):
    from airtrim.core.errors import JobError
    from airtrim.job import parse_job
    from tests.plans import EXAMPLE

    text = EXAMPLE.read_text()
    noted = text.replace("[house]\n", '[house]\ndangers = ["backdraft"]\n', 1)
    assert read_job(parse_job(noted, "x"))["messages"][0]["id"] == "reading.stop.backdraft"
    with pytest.raises(JobError, match="dangers"):
        parse_job(noted.replace("backdraft", "noise"), "x")
