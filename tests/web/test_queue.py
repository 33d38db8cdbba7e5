"""The table of work: one item a key, one winner a claim, silence gives it back, results kept once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from airtrim.web import keeping, queue
from airtrim.web.models import Outcome, WorkItem

pytestmark = pytest.mark.django_db


def silent(item):
    WorkItem.objects.filter(pk=item.pk).update(beat=timezone.now() - timedelta(seconds=queue.STALE_S + 1))


def test_work_asked_for_twice_is_queued_once(job):
    assert keeping.queue_plan(job).pk == keeping.queue_plan(job).pk
    assert WorkItem.objects.count() == 1


def test_a_job_that_cannot_be_computed_is_not_queued():
    from airtrim.web import services

    assert keeping.queue_plan(services.create_job("x", "Ana")) is None


def test_an_item_is_claimed_once_and_finished_by_its_claimer_only(job):
    keeping.queue_plan(job)
    first = queue.claim()
    assert queue.claim() is None
    silent(first)
    assert queue.give_back_stale() == 1
    second = queue.claim()
    assert second.pk == first.pk and second.tries == 2
    assert queue.beat(first, 0.5) == "lost" and queue.beat(second, 0.5) == "go on"
    assert not queue.finish(first, WorkItem.DONE) and queue.finish(second, WorkItem.DONE)


def test_work_that_never_ends_well_is_given_up_with_a_sentence(job):
    keeping.queue_plan(job)
    for _ in range(queue.TRIES):
        item = queue.claim()
        silent(item)
        queue.give_back_stale()
    item.refresh_from_db()
    assert item.state == WorkItem.FAILED and "never finished" in item.sentence and queue.claim() is None


def test_a_waiting_item_is_cancelled_at_once_a_running_one_by_its_worker(job):
    waiting = keeping.queue_plan(job)
    queue.ask_to_cancel(waiting)
    waiting.refresh_from_db()
    assert waiting.state == WorkItem.CANCELLED
    keeping.queue_plan(job)
    running = queue.claim()
    queue.ask_to_cancel(running)
    assert queue.beat(running, 0.1) == "cancel"


def test_a_result_computed_twice_is_kept_once(job):
    item = keeping.queue_plan(job)
    for number in (1, 2):
        keeping.keep(item, {"result": {"n": number}, "pictures": []})
    assert Outcome.objects.get().result == {"n": 1}


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_the_child_is_stopped_when_told_and_answers_when_not():
    """The real child process: a job that is refused comes back as its sentence; a cancelled one is killed."""
    from airtrim.web.worker import Computer, Stopped
    from tests.plans import EXAMPLE

    computer = Computer()
    arguments = {"text": EXAMPLE.read_text(), "weather": "/none", "units": "si", "systems": 2}
    try:
        with pytest.raises(Stopped):
            computer.compute("plan", arguments, lambda share: "cancel")
        assert computer.process is None
        wrong = arguments | {"text": EXAMPLE.read_text().replace("greensboro-nc", "/etc/passwd")}
        what, sentence = computer.compute("plan", wrong, lambda share: "go on")
        assert what == "refused" and "There is no weather file passwd" in sentence
    finally:
        computer.stop()
