"""The survey and the readings: one small form a value, saved as it is left, answered at its place; lists row by row."""

from collections.abc import Sequence
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
from airtrim.web import fields, layout, lists, selectors, services
from airtrim.web.pages import common
from airtrim.web.pages.asked import Asked, Rows, Sent, answer_of, asked_at, new_row, row_line, rows_of


@dataclass(frozen=True)
class Section:
    """A group of fields and lists under a heading; `open` unfolds it."""

    id: str
    name: str
    note: str
    asked: tuple[Asked, ...]
    lists: tuple[Rows, ...]
    open: bool
    filled: str


@dataclass(frozen=True)
class Point:
    """One operating point among the readings, as the row of them at the top shows it."""

    name: str
    url: str
    here: bool


@dataclass(frozen=True)
class FormPage:
    """`point` is the place of the reading in hand, with its mark where it is in the document already."""

    top: common.JobTop
    sections: tuple[Section, ...]
    remarks: tuple[str, ...]
    set_url: str
    first_url: str = ""
    instruments: tuple[Any, ...] = ()
    points: tuple[Point, ...] = ()
    point: str = ""
    point_name: str = ""
    point_mark: str = ""
    problem: str = ""


@require_GET
def survey(request: HttpRequest, job_id: Any) -> HttpResponse:
    return _page(request, "survey", job_id)


@require_GET
def readings(request: HttpRequest, job_id: Any) -> HttpResponse:
    return _page(request, "readings", job_id)


@require_POST
def set_values(request: HttpRequest, job_id: Any, page: str) -> HttpResponse:
    """Save what one form (or several) sent: htmx gets the answer and the top of the page, a plain browser the page."""
    if "add" in request.POST:
        return _add_row(request, job_id, page, request.POST["add"])
    if "remove" in request.POST:
        return _remove_row(request, job_id, page, request.POST["remove"])
    before = common.state_of(job_id)
    edits, typed = _edits(request.POST, before.draft)
    saved = services.save_values(job_id, edits, request.author)
    state = common.state_of(job_id)
    since = edits[0].since if edits else None
    answers = {edit.place: answer_of(state, edit.place, saved, since) for edit in edits}
    refused = {place: typed[place] for place, answer in answers.items() if answer.problem or answer.clash}
    at = edits[0].place if edits else ""
    if not request.htmx:
        if not refused:
            return redirect(common.place_url(state.job, at, page) if at else reverse(page, args=[job_id]))
        return _page(request, page, job_id, Sent(answers, refused, next(iter(refused))), status=422)
    followers = [
        asked_at(state, follower, oob=True)
        for edit in edits
        for follower, leader in layout.FOLLOWS.items()
        if edit.place == leader and before.draft.value(follower) != state.draft.value(follower)
    ]
    context = {
        "answers": list(answers.values()),
        "top": common.top(state, page, _following(state, page, _reading_of(state, at)), oob=True),
        "followers": followers,
        "lines": [one for edit in edits for one in _lines(state.draft, edit.place)],
        "set_url": reverse(f"set_{page}", args=[job_id]),
    }
    response = render(request, "web/answers.html", context)
    if any(services.taken_out(before.draft, state.draft, edit.place) for edit in edits):
        response["HX-Refresh"] = "true"
    return response


def _lines(draft: drafts.Draft, place: str) -> list[tuple[str, str, str, str]]:
    """What an edit in a row changes outside its own field: of each row above it the line and its mark, and what is wrong."""
    found = []
    for row in lists.rows_above(place):
        of = lists.parted(row)[0]
        if of != "readings" and draft.value(row) is not None:
            section = of.rsplit(".", 1)[0]
            wrong = draft.problem_of_whole(of) or draft.problem_of_whole(section)
            found.append(
                (common.slug(row), row_line(draft, row), lists.mark(draft.value(row)), draft.problem_of_whole(row))
            )
            found.append((common.slug(of), "", "", wrong))
    return found


def _add_row(request: HttpRequest, job_id: Any, page: str, place: str) -> HttpResponse:
    """One row more in the list at `place`: all of it, or the form again with what is wrong."""
    before = common.state_of(job_id)
    edits, typed = _edits(request.POST, before.draft)
    values = {
        edit.place.rsplit(".", 1)[-1]: edit.value
        for edit in edits
        if fields.bare(edit.place.rsplit(".", 1)[0]) == fields.bare(place)
    }
    saved = services.add_row(job_id, place, values, request.author)
    state = common.state_of(job_id)
    count = state.draft.entries(place)
    if saved.problems:
        row = f"{place}.{count + 1}"  # others may have added rows since the form was shown
        wrong = {one.place: one.sentence for one in saved.problems}
        again = {f"{row}.{old.rsplit('.', 1)[-1]}": sent for old, sent in typed.items()}
        answers = {at: answer_of(state, at, saved) for at in wrong if at != row}
        sent = Sent(answers, again, place, {row: wrong[row]} if row in wrong else {})
        if not request.htmx:
            return _page(request, page, job_id, sent, status=422)
        context = {"new": new_row(state, place, sent), "oob": True, "set_url": reverse(f"set_{page}", args=[job_id])}
        return render(request, "web/new_row.html", context)
    return _list_again(request, state, page, place, say("web.rows.added", {"number": count}), added=True)


def _remove_row(request: HttpRequest, job_id: Any, page: str, row: str) -> HttpResponse:
    """One row less, unless it is another by now than the one that was shown."""
    common.state_of(job_id)
    place = row.rpartition(".")[0]
    if not lists.is_list(place) or fields.row_number(row.rpartition(".")[2]) is None:
        raise JobError(say("web.failure.no_place", {"place": row[:80]}))
    saved = services.remove_row(job_id, row, request.POST.get("mark", ""), request.author)
    state = common.state_of(job_id)
    number = lists.parted(row)[1]
    if saved.problems:
        if not request.htmx:
            return _page(request, page, job_id, Sent(at=row, problems={row: saved.problems[0].sentence}), status=422)
        return _list_again(request, state, page, place, saved.problems[0].sentence)
    if place == "readings":
        return redirect(reverse(page, args=[job_id]))
    return _list_again(request, state, page, place, say("web.rows.removed", {"number": number}))


def _list_again(
    request: HttpRequest, state: common.State, page: str, place: str, said: str, added: bool = False
) -> HttpResponse:
    """The list after a row was added or taken out, with the top of the page; a plain browser goes back to it."""
    if not request.htmx:
        return redirect(common.place_url(state.job, place, page))
    above = lists.rows_above(place)
    context = {
        "rows": rows_of(state, place, said=said, oob=True, added=added),
        "lines": [
            (
                common.slug(row),
                row_line(state.draft, row),
                lists.mark(state.draft.value(row)),
                state.draft.problem_of_whole(row),
            )
            for row in above
            if lists.parted(row)[0] != "readings"
        ],
        "top": common.top(state, page, _following(state, page, _reading_of(state, place)), oob=True),
        "set_url": reverse(f"set_{page}", args=[state.job.pk]),
    }
    return render(request, "web/rows_again.html", context)


def _edits(
    sent: MultiValueDict[str, str], draft: drafts.Draft
) -> tuple[list[services.Edit], dict[str, tuple[list[str], str]]]:
    """Edits from a post: `v:PLACE` the text (several for choices), `u:PLACE` the unit, `w:PLACE` what stood there before,
    `since` the version the form was shown of."""
    edits, typed = [], {}
    since = sent.get("since", "")
    shown_of = int(since) if since.isascii() and since.isdigit() and len(since) < 9 else None
    for name in sent:
        if not name.startswith("w:"):
            continue
        place = name[2:]
        try:
            field = fields.field_at(place)
        except (KeyError, StopIteration, TypeError) as error:
            raise JobError(say("web.failure.no_place", {"place": place[:80]})) from error
        texts = [text.replace("\x00", "").replace("\r\n", "\n") for text in sent.getlist(f"v:{place}")]
        stands = draft.value(place)
        unit = sent.get(f"u:{place}", "")
        if field.units and unit not in field.units and unit != fields.shown(field, stands)[1]:
            unit = field.units[0]
        typed[place] = (texts, unit)
        value: services.Value
        if field.kind == "choices":
            there = stands or []
            value = [*(one for one in there if one in texts), *(one for one in texts if one not in there)] or None
        else:
            value = fields.typed(field, texts[-1] if texts else "", unit)
        if field.kind == "lines" and isinstance(stands, list):  # records among the texts are not shown, and stay
            value = [*(one for one in stands if isinstance(one, dict)), *(value or [])] or None
        edits.append(services.Edit(place, value, sent.get(name, ""), shown_of))
    return edits, typed


def _page(request: HttpRequest, page: str, job_id: Any, sent: Sent | None = None, status: int = 200) -> HttpResponse:
    state = common.state_of(job_id)
    sent = sent or Sent(at=request.GET.get("at", ""))
    set_url = reverse(f"set_{page}", args=[job_id])
    if page == "survey":
        sections = tuple(_section(state, group, sent) for group in (*layout.SURVEY, *unplaced("")))
        remarks = tuple(check_job(state.draft.job)) if state.draft.job is not None else ()
        context = FormPage(common.top(state, page), sections, remarks, set_url)
    else:
        number = _reading_of(state, sent.at or request.GET.get("reading", ""))
        point = f"readings.{number}"
        groups = (*layout.READINGS, *unplaced(f"{point}."))
        there = state.draft.value(point)
        context = FormPage(
            common.top(state, page, _following(state, page, number)),
            tuple(_section(state, group, sent, f"{point}.") for group in groups),
            (),
            set_url,
            reverse("first_look", args=[job_id]),
            tuple(selectors.instruments()),
            _points(state, number),
            point,
            say("web.entry.point", {"number": number}),
            "" if there is None else lists.mark(there),
            sent.problems.get(point, ""),
        )
    return render(request, f"web/{page}.html", {"page": context, "top": context.top}, status=status)


def _points(state: common.State, here: int) -> tuple[Point, ...]:
    """The operating points there are, and the next one, each a link; nothing before the first."""
    count = state.draft.entries("readings")
    if not count:
        return ()
    url = reverse("readings", args=[state.job.pk])
    names = [say("web.entry.point", {"number": number}) for number in range(1, count + 1)]
    return tuple(
        Point(name, f"{url}?reading={number}", number == here)
        for number, name in enumerate([*names, say("web.entry.another")], start=1)
    )


def _reading_of(state: common.State, told: str) -> int:
    """The number of the reading in hand: the one `told` (a number, or a place within it), else the newest."""
    count = state.draft.entries("readings")
    parts = told.split(".")
    number = fields.row_number(parts[1] if parts[0] == "readings" and len(parts) > 1 else told)
    return number if number is not None and 1 <= number <= count + 1 else max(count, 1)


def unplaced(prefix: str) -> tuple[layout.Group, ...]:
    """What the job layer knows and no group has yet, so that nothing in a job is out of reach; `prefix` is the reading's place."""
    whole, unseen = "readings." if prefix else "", {fields.bare(place) for place in layout.UNSEEN}
    placed = {
        whole + name
        for group in (layout.READINGS if prefix else layout.SURVEY)
        for name in (*group.places, *group.lists)
    }

    def left(every: Sequence[str]) -> tuple[str, ...]:
        return tuple(
            name.removeprefix(whole)
            for name in every
            if name.startswith(whole)
            and name not in placed
            and name not in unseen
            and not any(name.startswith(f"{one}.") for one in lists.every() if one != whole.rstrip("."))
        )

    places, records = left([fields.bare(place) for place in fields.places()]), left(lists.every())
    records = tuple(name for name in records if name != "readings")
    return (layout.Group("more", places, records),) if places or records else ()


def _section(state: common.State, group: layout.Group, sent: Sent, prefix: str = "") -> Section:
    """A group of fields; unfolded where something is wrong in it, where somebody was sent to it (`at`), or where it is usual."""
    asked = tuple(asked_at(state, prefix + place, sent) for place in group.places)
    records = tuple(rows_of(state, prefix + name, sent) for name in group.lists)
    filled = sum(state.draft.value(prefix + place) is not None for place in group.places)
    rows = sum(len(one.rows) for one in records)
    parts = [say("web.section.filled", {"count": filled, "of": len(group.places)})] if group.places else []
    parts += [say("web.section.rows", {"count": rows})] if rows else []
    places = [*(prefix + place for place in group.places), *(one.place for one in records)]
    wrong = any(one.answer.problem or one.answer.clash for one in asked) or any(
        one.problem or any(row.open for row in one.rows) for one in records
    )
    meant = bool(sent.at) and (sent.at == group.id or any(f"{sent.at}.".startswith(f"{one}.") for one in places))
    usual = group.id in layout.USUAL or bool(prefix and filled + rows)
    note = f"web.section_note.{group.id}"
    alone = len(records) == 1 and not asked
    return Section(
        group.id,
        lists.name(records[0].place) if alone else say(f"web.section.{group.id}"),
        say(note) if known(note) else "",
        asked,
        records,
        wrong or meant or usual,
        ", ".join(parts),
    )


def _following(state: common.State, page: str, number: int) -> common.Next | None:
    """On the readings page what to read next in the reading in hand stands first, as long as something tells more."""
    if page != "readings":
        return None
    read, point = state.draft, f"readings.{number}"
    skipped = {"heating": layout.NOT_IN_HEAT, "fan_only": layout.NOT_BY_FAN}.get(read.value(f"{point}.operation"), ())
    for key in layout.READ_NEXT:
        place = f"{point}.{key}"
        if key in skipped:
            continue
        if read.problem(place) or (
            read.value(place) is None and not (key == "airflow" and common.airflow_by_table(read, number))
        ):
            return common.Next(
                say("web.next.read", {"name": fields.field_at(place).label}),
                say(f"web.read_why.{key}"),
                common.place_url(state.job, place),
                say("web.next.read_button"),
            )
    return None
