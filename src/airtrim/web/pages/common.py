"""What every page of a job shows first: the way through the job, what is known, what is missing, what to do next."""

from dataclasses import dataclass, field
from typing import Any

from django.urls import reverse

from airtrim.report.words import known, say
from airtrim.web import draft as drafts
from airtrim.web import fields, layout, lists, selectors
from airtrim.web.models import Job, Outcome

STEPS = ("survey", "readings", "findings", "options", "settings", "papers")


@dataclass(frozen=True)
class Step:
    """A step of the way through a job."""

    id: str
    name: str
    url: str
    here: bool


@dataclass(frozen=True)
class Next:
    """What to do next: a sentence, why, and where (`post`: by a button that sends)."""

    head: str
    why: str = ""
    url: str = ""
    button: str = ""
    post: bool = False


@dataclass(frozen=True)
class Standing:
    """The top of a page."""

    known: str
    missing: str
    next: Next
    oob: bool = False


@dataclass(frozen=True)
class JobTop:
    """What the frame of a job's page needs."""

    job: Job
    step: str
    title: str
    steps: tuple[Step, ...]
    standing: Standing
    number: int
    can_undo: bool


@dataclass(frozen=True)
class State:
    """A job as a page finds it: its newest version, the draft, and the newest plan."""

    job: Job
    number: int
    draft: drafts.Draft
    outcome: Outcome | None
    current: bool
    units: str
    at: dict[str, Any] = field(default_factory=dict)


def state_of(job_id: Any) -> State:
    """Read what every page needs; 404 where there is no such job."""
    job = selectors.job(job_id)
    version = selectors.newest(job)
    draft = drafts.read(version.text)
    outcome, current = selectors.outcome(job, draft)
    return State(job, version.number, draft, outcome, current, selectors.shop().units)


def missing_first(draft: drafts.Draft) -> list[str]:
    """Which of the eight values of a first answer are not there or wrong; static pressure with a fan table counts as airflow."""
    missing = [place for place in layout.FIRST if draft.value(place) is None or draft.problem(place)]
    return [place for place in missing if not (place == layout.AIRFLOW and airflow_by_table(draft))]


def airflow_by_table(draft: drafts.Draft, number: int | None = None) -> bool:
    """Whether the job layer can take the airflow from what was read, or from the reading of that number alone."""
    from airtrim.core.errors import JobError
    from airtrim.job import airflow_known

    if draft.job is None:
        return False
    job = draft.job
    if number is not None:
        job = job.model_copy(update={"readings": job.readings[number - 1 : number]})
    try:
        airflow_known(job)
    except JobError:
        return False
    return True


def place_url(job: Job, place: str, page: str = "") -> str:
    """Where a place is filled in: a field, a list, a row of one, or (by its heading) a section."""
    page = page or ("readings" if place.startswith("readings.") else "survey")
    if lists.is_list(place):
        anchor = f"l-{slug(place)}"
    elif fields.row_number(place.rsplit(".", 1)[-1]) is not None:
        anchor = f"r-{slug(place)}"
    else:
        anchor = f"f-{slug(place)}" if "." in place or place == "name" else f"s-{place}"
    return f"{reverse(page, args=[job.pk])}?at={place}#{anchor}"


def slug(place: str) -> str:
    return place.replace(".", "-").replace("_", "-")


def label(place: str) -> str:
    """The name of a place as a form shows it, or of a list, a row, a section; the place itself where there is none such."""
    try:
        return fields.field_at(place).label
    except KeyError:
        if fields.bare(place) in lists.every():
            return lists.name(place)
        return say(f"web.section.{place}") if known(f"web.section.{place}") else place


def known_sentence(draft: drafts.Draft) -> str:
    first = len(layout.FIRST) - len(missing_first(draft))
    return say(
        "web.standing.known", {"first": first, "of": len(layout.FIRST), "more": max(_count(draft.table) - first, 0)}
    )


def _count(value: Any) -> int:
    if isinstance(value, dict):
        return sum(_count(inside) for key, inside in value.items() if key not in ("id", "airtrim_job"))
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return sum(_count(inside) for inside in value)
    return 1


def missing_sentence(state: State) -> str:
    draft = state.draft
    lacking = list(dict.fromkeys([*missing_first(draft), *(p for p in draft.missing if p != "airtrim_job")]))
    parts = [label(place) for place in lacking if place not in layout.FOLLOWS]
    sentences = [say("web.standing.missing", {"list": ", ".join(parts)})] if parts else []
    sentences += [
        say("web.standing.wrong", {"name": label(one.place) if one.place else "", "sentence": one.sentence})
        for one in draft.problems
    ]
    return " ".join(sentences) or say("web.standing.nothing_missing")


def next_towards_answer(state: State) -> Next | None:
    """What stands between the job and an answer for its document as it is now; None where nothing does."""
    job, draft = state.job, state.draft
    lacking = missing_first(draft)
    if lacking:
        place = lacking[0]
        return Next(
            say("web.next.fill", {"name": label(place)}),
            fields.field_at(place).hint,
            place_url(job, place),
            say("web.next.go"),
        )
    if draft.problems:
        one = draft.problems[0]
        return Next(
            say("web.next.mend", {"name": label(one.place)}),
            one.sentence,
            place_url(job, one.place),
            say("web.next.go"),
        )
    if draft.job is None:
        place = next((p for p in draft.missing if p != "airtrim_job"), "name")
        return Next(say("web.next.fill", {"name": label(place)}), "", place_url(job, place), say("web.next.go"))
    if not state.current:
        first = state.outcome is None
        return Next(
            say("web.next.compute" if first else "web.next.compute_again"),
            say("web.next.compute_why" if first else "web.next.compute_again_why"),
            reverse("compute", args=[job.pk]),
            say("web.next.compute_button"),
            post=True,
        )
    return None


def after(state: State, page: str) -> Next:
    """Where to go from a page once its own matter is settled."""
    following = STEPS[STEPS.index(page) + 1]
    return Next(
        say(f"web.next.to_{following}"),
        say(f"web.next.to_{following}_why"),
        reverse(following, args=[state.job.pk]),
        say(f"web.title.{following}"),
    )


def top(state: State, page: str, following: Next | None = None, oob: bool = False) -> JobTop:
    """The frame of a job's page."""
    steps = tuple(Step(one, say(f"web.step.{one}"), reverse(one, args=[state.job.pk]), one == page) for one in STEPS)
    standing = Standing(
        known_sentence(state.draft),
        missing_sentence(state),
        following or next_towards_answer(state) or after(state, page if page in STEPS[:-1] else "settings"),
        oob,
    )
    return JobTop(state.job, page, say(f"web.title.{page}"), steps, standing, state.number, state.number > 1)
