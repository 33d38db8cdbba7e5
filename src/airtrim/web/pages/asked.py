"""What forms show: a field with what stands in the document, the rows of a list, and the form for one row more."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from airtrim.report.words import known, say
from airtrim.web import draft as drafts
from airtrim.web import fields, layout, lists, services
from airtrim.web.pages import common

#: More choices than this stand in a list to open, fewer side by side.
SIDE_BY_SIDE = 4
#: Letters of a value in the one line that stands for a row.
LETTERS = 40


@dataclass(frozen=True)
class Answer:
    """What stands under a field: what was there before and since which version (sent along, so that clashes show), a sentence."""

    place: str
    slug: str
    was: str
    since: str
    in_row: bool
    problem: str = ""
    clash: services.Clash | None = None
    saved: bool = False


@dataclass(frozen=True)
class Asked:
    """A field as a form shows it; `first` has the focus when it comes, `optional` says that it may stay blank."""

    field: fields.Field
    slug: str
    number: str
    unit: str
    units: tuple[tuple[str, str], ...]
    choices: tuple[tuple[str, str, bool], ...]
    radio: bool
    answer: Answer
    oob: bool = False
    first: bool = False
    optional: bool = False


@dataclass(frozen=True)
class Row:
    """A row of a list: one line, and unfolded its fields and the lists within it."""

    place: str
    slug: str
    number: int
    line: str
    mark: str
    asked: tuple[Asked, ...]
    lists: tuple["Rows", ...]
    problem: str
    open: bool


@dataclass(frozen=True)
class NewRow:
    """The form for one row more; `place` is that of its list."""

    place: str
    slug: str
    asked: tuple[Asked, ...]
    problem: str
    open: bool


@dataclass(frozen=True)
class Rows:
    """A list with its rows and the form for one more; `said` tells what was just done with it."""

    place: str
    slug: str
    name: str
    note: str
    rows: tuple[Row, ...]
    new: NewRow
    named: bool
    problem: str
    said: str = ""
    oob: bool = False
    added: bool = False


@dataclass(frozen=True)
class Sent:
    """What came of what was sent, so that it is shown again: answers by place, the texts typed, of which version, where to look."""

    answers: Mapping[str, Answer] = field(default_factory=dict)
    typed: Mapping[str, tuple[list[str], str]] = field(default_factory=dict)
    at: str = ""
    problems: Mapping[str, str] = field(default_factory=dict)


NOTHING_SENT = Sent()


def answer_of(state: common.State, place: str, saved: services.Saved | None = None, since: int | None = None) -> Answer:
    written = fields.written(state.draft.value(place))
    problem = next((one.sentence for one in saved.problems if one.place == place), "") if saved else ""
    clash = next((one for one in saved.clashes if one.place == place), None) if saved else None
    fine = saved is not None and not problem and clash is None and written != ""
    return Answer(
        place,
        common.slug(place),
        written,
        str(
            state.number if since is None else since
        ),  # as text: a template would write a number out anew at each field
        bool(lists.rows_above(place)),
        problem or state.draft.problem(place),
        clash,
        fine,
    )


def asked_at(
    state: common.State, place: str, sent: Sent = NOTHING_SENT, oob: bool = False, like: str = "", first: bool = False
) -> Asked:
    """A field with what stands in the document, or with what was typed and refused; a blank one has the unit of `like`."""
    asked = fields.field_at(place)
    value = state.draft.value(place)
    number, unit = fields.shown(asked, value)
    ticked = {fields.written(one) for one in value} if isinstance(value, list) else {fields.written(value)}
    typed = sent.typed.get(place)
    if typed is not None:
        texts, unit = typed
        number, ticked = texts[-1] if texts else "", set(texts)
    if asked.units and not unit and value is None:
        unit = (fields.shown(asked, state.draft.value(like))[1] if like else "") or fields.default_unit(
            asked, state.units
        )
    mixed = asked.units and not unit  # several values in several units: each has its own beside it
    offered = asked.units if unit in asked.units or not asked.units or mixed else (*asked.units, unit)
    choices = asked.choices
    says_unknown = not asked.required and any(key == "unknown" for key, _ in choices)
    if value is None and typed is None:
        ticked = {"unknown"} if says_unknown else {asked.default}
    if asked.kind == "yes_no" or (
        asked.kind == "choice" and not asked.required and not says_unknown and not asked.default
    ):
        choices = (("", say("web.choice.not_said")), *choices)
    elif asked.kind == "choice" and asked.required and not value:
        choices = (("", say("web.choice.choose")), *choices)
    radio = asked.kind in ("choice", "yes_no") and len(asked.choices) <= SIDE_BY_SIDE
    if radio and asked.required:
        choices = asked.choices
    return Asked(
        asked,
        common.slug(place),
        number,
        unit,
        tuple((one, fields.SHOWN.get(one, one)) for one in offered),
        tuple((key, name, key in ticked) for key, name in choices),
        radio,
        sent.answers.get(place) or answer_of(state, place),
        oob,
        first,
    )


def rows_of(
    state: common.State, place: str, sent: Sent = NOTHING_SENT, said: str = "", oob: bool = False, added: bool = False
) -> Rows:
    """The list at `place`; the form for one row more is unfolded where there is no row yet, or one was just added."""
    path, count = fields.bare(place), state.draft.entries(place)
    section = place.rsplit(".", 1)[0]
    whole = state.draft.problem_of_whole(place)
    if count and not whole and fields.row_number(section.rsplit(".", 1)[-1]) is None:
        whole = state.draft.problem_of_whole(section)
    note = f"web.list_note.{path}"
    return Rows(
        place,
        common.slug(place),
        lists.name(place),
        say(note) if known(note) else "",
        tuple(_row(state, f"{place}.{number}", sent) for number in range(1, count + 1)),
        new_row(state, place, sent, after_another=added),
        path not in layout.ALONE,
        whole,
        said,
        oob,
        added,
    )


def new_row(state: common.State, place: str, sent: Sent = NOTHING_SENT, after_another: bool = False) -> NewRow:
    count = state.draft.entries(place)
    row, before = f"{place}.{count + 1}", f"{place}.{count}" if count else ""
    kind = lists.row_kind(place)
    wrong = next((key for key in kind.keys if _is_wrong(sent, f"{row}.{key}")), "")
    asked = []
    for key in kind.keys:
        like = f"{before}.{key}" if before else ""
        first = key == (wrong or kind.keys[0]) and (after_another or bool(wrong))
        one = asked_at(state, f"{row}.{key}", sent, like=like, first=first)
        asked.append(replace(one, optional=not one.field.required and not one.field.default))
    problem = sent.problems.get(row, "")
    return NewRow(
        place,
        common.slug(place),
        tuple(asked),
        problem,
        after_another
        or bool(wrong or problem)
        or sent.at == place
        or (not count and fields.bare(place) in layout.ALONE),
    )


def _row(state: common.State, place: str, sent: Sent) -> Row:
    kind = lists.row_kind(lists.parted(place)[0])
    asked = tuple(asked_at(state, f"{place}.{key}", sent) for key in kind.keys)
    inner = tuple(rows_of(state, f"{place}.{key}", sent) for key in kind.lists)
    problem = sent.problems.get(place, "") or state.draft.problem_of_whole(place)
    wrong = any(one.answer.problem or one.answer.clash for one in asked)
    return Row(
        place,
        common.slug(place),
        lists.parted(place)[1],
        row_line(state.draft, place),
        lists.mark(state.draft.value(place)),
        asked,
        inner,
        problem,
        bool(problem) or wrong or f"{sent.at}.".startswith(f"{place}."),
    )


def _is_wrong(sent: Sent, place: str) -> bool:
    found = sent.answers.get(place)
    return found is not None and bool(found.problem)


def row_line(draft: drafts.Draft, row: str) -> str:
    """A row in one line: what stands in it, in the order of its fields."""
    kind, parts = lists.row_kind(lists.parted(row)[0]), []
    for key in kind.keys:
        value, asked = draft.value(f"{row}.{key}"), fields.field_at(f"{row}.{key}")
        if value is None:
            continue
        number, unit = fields.shown(asked, value)
        if asked.kind == "measured":
            text = f"{number} {fields.SHOWN.get(unit, unit)}".strip()
        elif asked.kind in ("whole", "number", "yes_no"):
            names = dict(asked.choices)
            text = f"{asked.label} {names.get(fields.written(value), fields.written(value))}"
        elif asked.choices:
            names, several = dict(asked.choices), value if isinstance(value, list) else [value]
            text = ", ".join(names.get(fields.written(one), fields.written(one)) for one in several)
        elif asked.kind == "grid":
            text = say("web.rows.grid", {"count": sum(len(line) for line in value if isinstance(line, list))})
        else:
            text = fields.written(value)
        parts.append(text if len(text) <= LETTERS else f"{text[: LETTERS - 1]}…")
    for key in kind.lists:
        count = draft.entries(f"{row}.{key}")
        if count:
            parts.append(f"{lists.name(f'{row}.{key}')} {count}")
    return " · ".join(parts)
