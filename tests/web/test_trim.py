"""The resident process: the newest request of a hand wins, the same asked twice is computed once, walls explain themselves."""

import threading
import time

import pytest

from airtrim.web.trim.resident import Resident
from tests.plans import EXAMPLE

ASKED = {"text": EXAMPLE.read_text(), "weather": "/none", "units": "inch_pound"}
VALUES = {"least_flow": 0.8, "sensor_drop_k": 12.0, "off_delay_s": 30.0, "ramp_time_s": 30.0}


class Slow(Resident):
    """Computes for as long as it is told, and notes what it computed."""

    def __init__(self):
        super().__init__()
        self.computed = []
        self.gate = threading.Event()

    def compute_for_ever(self):
        while True:
            with self._lock:
                while not self._waiting:
                    self._lock.wait()
                _, request = self._waiting.popitem(last=True)
                self._running = request
            self.gate.wait(5)
            self.computed.append(request.asked["n"])
            with self._lock:
                self._running = None
                request.answer = {"state": "done", "n": request.asked["n"]}
                request.done.set()


def test_the_newest_request_of_a_hand_wins_and_the_older_are_told():
    resident = Slow()
    threading.Thread(target=resident.compute_for_ever, daemon=True).start()
    assert resident.ask({"n": 0, "hand": "a"}, 0.05) == {"state": "working"}  # occupies the computer
    answers = {}
    asking = []
    for number in (1, 2, 3):
        thread = threading.Thread(
            target=lambda n=number: answers.__setitem__(n, resident.ask({"n": n, "hand": "b"}, 5.0))
        )
        thread.start()
        asking.append(thread)
        time.sleep(0.05)
    resident.gate.set()
    for thread in asking:
        thread.join()
    assert answers[1] == answers[2] == {"state": "out_of_date"} and answers[3] == {"state": "done", "n": 3}
    assert resident.computed == [0, 3]


def test_a_new_place_of_the_same_hand_stops_the_sharp_answer_before_it():
    resident = Slow()
    threading.Thread(target=resident.compute_for_ever, daemon=True).start()
    resident.ask({"n": 0, "hand": "a"}, 0.05)
    running = resident._running
    resident.ask({"n": 1, "hand": "a"}, 0.05)
    assert running.out_of_date
    resident.gate.set()


@pytest.fixture(scope="module")
def resident():
    made = Resident()
    threading.Thread(target=made.compute_for_ever, daemon=True).start()
    return made


@pytest.mark.slow
def test_the_year_answers_and_agrees_with_the_options_own_run(resident):
    """What the sliders say is what work/options says of the same program on the same systems."""
    from airtrim.job import parse_job
    from airtrim.physics.season.year import run_years
    from airtrim.web.trim import answers
    from airtrim.work.findings import find
    from airtrim.work.options.candidates import drive, leave_as_is
    from airtrim.work.weather import weather_of

    ready = resident.ask({"kind": "ready", **ASKED}, 120.0)
    assert ready["state"] == "done" and ready["why_not"] == "", ready
    got = resident.ask({"kind": "year", "values": VALUES, "sharp": False, **ASKED}, 60.0)
    job = parse_job(ASKED["text"], "x")
    weather = weather_of(job)
    found = find(job, weather, answers.SHARP_SYSTEMS)
    now = leave_as_is(found)
    candidate = drive(found, now, 0.8, 12.0)
    count = answers.SCREEN_SYSTEMS
    years = run_years(
        found.system.first(count), [now.program, candidate.program], weather, 60.0, [None, candidate.watts[:count]]
    )
    damp = next(one for one in got["figures"] if one["id"] == "damp_hours")
    change = next(one for one in got["differences"] if one["id"] == "damp_hours")
    import numpy as np

    assert damp["mid"] == pytest.approx(np.median(years.damp_hours[:, 1]), rel=1e-12)
    assert change["mid"] == pytest.approx(np.median(years.damp_hours[:, 1] - years.damp_hours[:, 0]), rel=1e-12)


@pytest.mark.slow
def test_the_wall_is_the_motors_least_frequency_and_says_so(resident):
    """The wall stands where work/options turns the limit to 'fail'."""
    slower = ASKED | {"text": ASKED["text"] + '\n[safe_limits]\nleast_frequency = "45 Hz"\n'}
    ready = resident.ask({"kind": "ready", **slower}, 120.0)
    assert "45.0 Hz" in ready["wall"]["sentence"] and "Wall at" in ready["wall"]["sentence"]
    at = ready["wall"]["at"]

    def status(least):
        answer = resident.ask(
            {"kind": "year", "values": VALUES | {"least_flow": least}, "sharp": False, **slower}, 60.0
        )
        return next(one["status"] for one in answer["limits"] if one["id"] == "frequency_maker")

    assert status(at) == "pass" and status(round(at - 0.02, 2)) == "fail"


@pytest.mark.slow
def test_an_electronic_motor_is_refused_in_words(resident):
    other = ASKED | {"text": ASKED["text"].replace("[blower]", '[blower]\nmotor = "constant_torque"')}
    assert resident.ask({"kind": "ready", **other}, 120.0)["why_not"] == "option_why.not_psc"


@pytest.mark.django_db
def test_without_the_process_the_page_says_so(client, job):
    from django.urls import reverse

    page = client.get(reverse("trim", args=[job.pk])).content.decode()
    assert "is not running" in page
    assert "not running" in client.get(reverse("first_look", args=[job.pk])).content.decode()


@pytest.mark.django_db
def test_signs_are_answered_before_the_airflow_is_known(client):
    """The steps at the house need no airflow: the first look is asked for as soon as a sign is noted."""
    from django.urls import reverse

    from airtrim.job import new_job_text
    from airtrim.web import services

    text = new_job_text().replace('airflow = "1200 cfm"', 'outdoor_dry_bulb = "85 F"')
    for signs, asked in (("", False), ('signs = ["whistle_at_grille"]\n', True)):
        job = services.import_job(text.replace("[complaint]\n", f"[complaint]\n{signs}", 1), "ann")
        page = client.get(reverse("first_look", args=[job.pk])).content.decode()
        assert ("not running" in page) is asked
