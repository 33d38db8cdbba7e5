"""The survey and the readings: one small form a value, saved as it is left, answered at its place."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.datastructures import MultiValueDict
from django.views.decorators.http import require_GET, require_POST

from airtrim.core.errors import JobError
from airtrim.job import check_job
from airtrim.report.words import known, say
from airtrim.web import draft as drafts
from airtrim.web import fields, layout, selectors, services
from airtrim.web.pages import common

#: More choices than this stand in a list to open, fewer side by side.
SIDE_BY_SIDE = 4


@dataclass(frozen=True)
class Answer:
    """What stands under a field: what was there before (sent along, so that clashes show), and a sentence."""

    place: str
    slug: str
    was: str
    problem: str = ""
    clash: services.Clash | None = None
    saved: bool = False
    note: str = ""


@dataclass(frozen=True)
class Asked:
    """A field as a form shows it."""

    field: fields.Field
    slug: str
    number: str
    unit: str
    units: tuple[tuple[str, str], ...]
    choices: tuple[tuple[str, str, bool], ...]
    radio: bool
    answer: Answer
    oob: bool = False


@dataclass(frozen=True)
class Entry:
    """One entry of a group: the fields, under a name where entries repeat."""

    name: str
    asked: tuple[Asked, ...]


@dataclass(frozen=True)
class Section:
    """A group of fields under a heading; `open` unfolds it."""

    id: str
    name: str
    note: str
    entries: tuple[Entry, ...]
    open: bool
    filled: str


@dataclass(frozen=True)
class FormPage:
    top: common.JobTop
    sections: tuple[Section, ...]
    remarks: tuple[str, ...]
    set_url: str
    first_url: str = ""
    instruments: tuple[Any, ...] = ()


@require_GET
def survey(request: HttpRequest, job_id: Any) -> HttpResponse:
    return _page(request, "survey", job_id, {})


@require_GET
def readings(request: HttpRequest, job_id: Any) -> HttpResponse:
    return _page(request, "readings", job_id, {})


@require_POST
def set_values(request: HttpRequest, job_id: Any, page: str) -> HttpResponse:
    """Save what one form (or several) sent: htmx gets the answer and the top of the page, a plain browser the page."""
    before = common.state_of(job_id)
    edits, typed = _edits(request.POST, before.draft)
    saved = services.save_values(job_id, edits, request.author)
    state = common.state_of(job_id)
    answers = {edit.place: _answer(state.draft, edit.place, saved) for edit in edits}
    refused = {place: typed[place] for place, answer in answers.items() if answer.problem or answer.clash}
    if not request.htmx:
        if not refused:
            anchor = f"#f-{common.slug(edits[0].place)}" if edits else ""
            return redirect(reverse(page, args=[job_id]) + anchor)
        return _page(request, page, job_id, answers, refused, status=422)
    followers = [
        _asked(state, follower, oob=True)
        for edit in edits
        for follower, leader in layout.FOLLOWS.items()
        if edit.place == leader and before.draft.value(follower) != state.draft.value(follower)
    ]
    context = {
        "answers": list(answers.values()),
        "top": common.top(state, page, _following(state, page), oob=True),
        "followers": followers,
        "set_url": reverse(f"set_{page}", args=[job_id]),
    }
    response = render(request, "web/answers.html", context)
    if any(_shrank(before.draft, state.draft, group) for group in layout.SURVEY) or (
        before.draft.entries("readings") > state.draft.entries("readings")
    ):
        response["HX-Refresh"] = "true"
    return response


def _shrank(before: drafts.Draft, after: drafts.Draft, group: layout.Group) -> bool:
    return bool(group.repeats) and before.entries(group.repeats) > after.entries(group.repeats)


def _edits(
    sent: MultiValueDict[str, str], draft: drafts.Draft
) -> tuple[list[services.Edit], dict[str, tuple[list[str], str]]]:
    """Edits from a post: `v:PLACE` the text (several for choices), `u:PLACE` the unit, `w:PLACE` what stood there before."""
    edits, typed = [], {}
    for name in sent:
        if not name.startswith("w:"):
            continue
        place = name[2:]
        try:
            field = fields.field_at(place)
        except (KeyError, StopIteration, TypeError) as error:
            raise JobError(say("web.failure.no_place", {"place": place[:80]})) from error
        texts = [text.replace("\x00", "") for text in sent.getlist(f"v:{place}")]
        unit = sent.get(f"u:{place}", "")
        if field.units and unit not in field.units and unit != fields.split(fields.written(draft.value(place)))[1]:
            unit = field.units[0]
        typed[place] = (texts, unit)
        value: services.Value
        if field.kind == "choices":
            stands = draft.value(place) or []
            value = [*(one for one in stands if one in texts), *(one for one in texts if one not in stands)] or None
        else:
            value = fields.typed(field, texts[-1] if texts else "", unit)
        edits.append(services.Edit(place, value, sent.get(name, "")))
    return edits, typed


def _answer(draft: drafts.Draft, place: str, saved: services.Saved | None) -> Answer:
    written = fields.written(draft.value(place))
    problem = next((one.sentence for one in saved.problems if one.place == place), "") if saved else ""
    clash = next((one for one in saved.clashes if one.place == place), None) if saved else None
    fine = saved is not None and not problem and clash is None and written != ""
    return Answer(place, common.slug(place), written, problem or draft.problem(place), clash, fine)


def _asked(
    state: common.State,
    place: str,
    answers: dict[str, Answer] | None = None,
    typed: dict[str, tuple[list[str], str]] | None = None,
    oob: bool = False,
) -> Asked:
    """A field with what stands in the document, or with what was typed and refused."""
    field = fields.field_at(place)
    value = state.draft.value(place)
    number, unit = fields.split(fields.written(value)) if field.units else (fields.written(value), "")
    ticked = {fields.written(one) for one in value} if isinstance(value, list) else {fields.written(value)}
    if typed and place in typed:
        texts, unit = typed[place]
        number, ticked = texts[-1] if texts else "", set(texts)
    unit = unit or (fields.default_unit(field, state.units) if field.units else "")
    offered = field.units if unit in field.units or not field.units else (*field.units, unit)
    choices = field.choices
    says_unknown = not field.required and any(key == "unknown" for key, _ in choices)
    if says_unknown and value is None and not (typed and place in typed):
        ticked = {"unknown"}
    if field.kind == "yes_no" or (field.kind == "choice" and not field.required and not says_unknown):
        choices = (("", say("web.choice.not_said")), *choices)
    elif field.kind == "choice" and field.required and not value:
        choices = (("", say("web.choice.choose")), *choices)
    radio = field.kind in ("choice", "yes_no") and len(field.choices) <= SIDE_BY_SIDE
    if radio and field.required:
        choices = field.choices
    return Asked(
        field,
        common.slug(place),
        number,
        unit,
        tuple((one, fields.SHOWN.get(one, one)) for one in offered),
        tuple((key, name, key in ticked) for key, name in choices),
        radio,
        (answers or {}).get(place) or _answer(state.draft, place, None),
        oob,
    )


def _page(
    request: HttpRequest,
    page: str,
    job_id: Any,
    answers: dict[str, Answer],
    typed: dict[str, tuple[list[str], str]] | None = None,
    status: int = 200,
) -> HttpResponse:
    state = common.state_of(job_id)
    at = request.GET.get("at", "")
    if page == "survey":
        sections = tuple(_section(state, group, answers, typed, at) for group in (*layout.SURVEY, *_unplaced()))
    else:
        sections = _reading_sections(state, answers, typed, at)
    remarks = tuple(check_job(state.draft.job)) if state.draft.job is not None else ()
    context = FormPage(
        common.top(state, page, _following(state, page)),
        sections,
        remarks if page == "survey" else (),
        reverse(f"set_{page}", args=[job_id]),
        reverse("first_look", args=[job_id]) if page == "readings" else "",
        tuple(selectors.instruments()) if page == "readings" else (),
    )
    return render(request, f"web/{page}.html", {"page": context, "top": context.top}, status=status)


def _unplaced() -> tuple[layout.Group, ...]:
    """What the job layer knows and no group has yet, so that nothing in a job is out of reach."""
    placed = {
        f"{group.repeats}.1.{place}" if group.repeats else place for group in layout.SURVEY for place in group.places
    }
    placed |= {f"readings.1.{place}" for group in layout.READINGS for place in group.places}
    left = tuple(
        place for place in fields.places() if place not in placed and place not in layout.UNSEEN and ".1." not in place
    )
    return (layout.Group("more", left),) if left else ()


def _section(
    state: common.State,
    group: layout.Group,
    answers: dict[str, Answer],
    typed: dict[str, tuple[list[str], str]] | None,
    at: str,
) -> Section:
    """A group of the survey; unfolded where something is wrong in it, or where somebody was sent to it (`at`)."""
    if group.repeats:
        count = state.draft.entries(group.repeats)
        entries = tuple(
            Entry(
                say("web.entry.new" if number > count else "web.entry.number", {"number": number}),
                tuple(_asked(state, f"{group.repeats}.{number}.{key}", answers, typed) for key in group.places),
            )
            for number in range(1, count + 2)
        )
        filled = say("web.section.rows", {"count": count}) if count else ""
    else:
        asked = tuple(_asked(state, place, answers, typed) for place in group.places)
        entries = (Entry("", asked),)
        count = sum(state.draft.value(place) is not None for place in group.places)
        filled = say("web.section.filled", {"count": count, "of": len(group.places)})
    wrong = any(one.answer.problem or one.answer.clash for entry in entries for one in entry.asked)
    note = f"web.section_note.{group.id}"
    meant = any(at in (one.field.place, group.id) for entry in entries for one in entry.asked)
    return Section(
        group.id,
        say(f"web.section.{group.id}"),
        say(note) if known(note) else "",
        entries,
        wrong or meant or group.id == "first",
        filled,
    )


def _reading_sections(
    state: common.State, answers: dict[str, Answer], typed: dict[str, tuple[list[str], str]] | None, at: str
) -> tuple[Section, ...]:
    """The readings of the newest operating point, and those before it folded."""
    count = max(state.draft.entries("readings"), 1)
    sections = []
    for group in layout.READINGS:
        entries = tuple(
            Entry(
                say("web.entry.point", {"number": number}) if count > 1 else "",
                tuple(_asked(state, f"readings.{number}.{key}", answers, typed) for key in group.places),
            )
            for number in range(1, count + 1)
        )
        places = [one.field.place for entry in entries for one in entry.asked]
        filled = sum(state.draft.value(place) is not None for place in places)
        sections.append(
            Section(
                group.id,
                say(f"web.section.{group.id}"),
                "",
                entries,
                group.id in layout.USUAL or filled > 0 or at.split(".", 2)[-1] in group.places,
                say("web.section.filled", {"count": filled, "of": len(places)}),
            )
        )
    return tuple(sections)


def _following(state: common.State, page: str) -> common.Next | None:
    """On the readings page what to read next stands first, as long as something tells more."""
    if page != "readings":
        return None
    read = state.draft
    for key in layout.READ_NEXT:
        place = f"readings.1.{key}"
        if read.problem(place) or (
            read.value(place) is None and not (key == "airflow" and common.airflow_by_table(read))
        ):
            return common.Next(
                say("web.next.read", {"name": fields.field_at(place).label}),
                say(f"web.read_why.{key}"),
                common.place_url(state.job, place),
                say("web.next.read_button"),
            )
    return None
