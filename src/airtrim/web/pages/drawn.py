"""The pictures of a plan as a page shows them: drawn once by the worker, with what they say in words and a table behind each."""

from dataclasses import dataclass

from django.utils.safestring import mark_safe

from airtrim.report.hours import answer as hours_answer
from airtrim.report.hours import hours_of, hours_tables
from airtrim.report.hours import sentence as hours_sentence
from airtrim.report.map import answer, conditions_text, difference_sentence, map_table, suction_sentence
from airtrim.report.months import months_of
from airtrim.report.options_picture import answer as options_answer
from airtrim.report.options_picture import can_be_drawn, difference_line, options_table, text_alternative
from airtrim.report.pictures import wanted
from airtrim.report.units import number_text
from airtrim.report.words import label, say
from airtrim.web import keeping
from airtrim.web.models import Outcome, WorkItem
from airtrim.web.pages import common
from airtrim.web.pages.working import Work, shown_work
from airtrim.web.tasks import WIDTHS


@dataclass(frozen=True)
class Table:
    """The figures behind a picture."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Drawn:
    """A picture with what it says, in words and as a table; `svgs` by width name, empty while it is not drawn yet."""

    id: str
    title: str
    note: str
    words: str
    sentence: str
    svgs: tuple[tuple[str, str], ...]
    tables: tuple[Table, ...]
    work: Work | None


def drawn_widths(state: common.State, outcome: Outcome, name: str) -> tuple[tuple[tuple[str, str], ...], Work | None]:
    """The drawn widths of a picture. Where it can be drawn and is not yet in these units, the worker is asked for it; a try that
    did not end well is shown, and repeated only after a while."""
    drawn = {one.width: one.svg for one in outcome.pictures.filter(name=name, units=state.units)}
    if not drawn:
        if name not in wanted(outcome.result):
            return (), None
        item = keeping.ask_for_pictures(outcome, state.units)
        return (), None if item.state == WorkItem.DONE else shown_work(item)
    names = dict(zip(WIDTHS, ("narrow", "wide"), strict=True))
    # drawn by our own worker from numbers and catalogue words only
    return tuple((names[width], mark_safe(svg)) for width, svg in sorted(drawn.items()) if width in names), None


def map_picture(state: common.State, outcome: Outcome, name: str = "map") -> Drawn:
    """The airflow map, or (`detail`) what else goes with the airflow; one table stands behind both."""
    result, units = outcome.result, state.units
    picture = result["map"]
    svgs, work = drawn_widths(state, outcome, name)
    head, *rows = map_table(result, units)
    table = Table(say("web.table.map"), tuple(head), tuple(tuple(row) for row in rows))
    note = f"{conditions_text(picture, units).rstrip('.')}. {say('map.subtitle')}"
    if name == "detail":
        return Drawn(name, say("map.detail"), note, say("map.detail"), "", svgs, (table,), work)
    words, sentence = suction_sentence(result, units), difference_sentence(result, units)
    return Drawn(name, answer(picture, units), note, words, sentence, svgs, (table,), work)


def months_picture(state: common.State, outcome: Outcome) -> Drawn | None:
    found = months_of(outcome.result)
    if found is None:
        return None
    chosen, now, then = found
    svgs, work = drawn_widths(state, outcome, "months")
    names = say("web.table.months").split()
    rows = tuple(
        (name, number_text(before, 1.0), number_text(after, 1.0))
        for name, before, after in zip(names, now, then, strict=True)
    )
    head = (say("web.table.month"), label("leave_as_is", "option"), label(chosen, "option"))
    words = say("map.months", {"mid": round(max(now)), "proposed": round(max(then))})
    return Drawn("months", words, say("map.months_subtitle"), words, "", svgs, (Table(words, head, rows),), work)


def options_picture(state: common.State, outcome: Outcome) -> Drawn | None:
    """The options side by side, None where there is nothing to compare."""
    result, units = outcome.result, state.units
    if not can_be_drawn(result):
        return None
    svgs, work = drawn_widths(state, outcome, "options")
    head, *rows = options_table(result, units)
    table = Table(say("web.table.options"), tuple(head), tuple(tuple(row) for row in rows))
    title, words = options_answer(result, units), text_alternative(result, units)
    note, sentence = say("options_picture.subtitle"), difference_line(result, units)
    return Drawn("options", title, note, words, sentence, svgs, (table,), work)


def hours_picture(state: common.State, outcome: Outcome) -> Drawn | None:
    """Humidity by month and hour of the day, None where the plan holds no hours."""
    result = outcome.result
    if hours_of(result) is None:
        return None
    svgs, work = drawn_widths(state, outcome, "hours")
    tables = tuple(
        Table(caption, tuple(head), tuple(tuple(row) for row in rows))
        for caption, (head, *rows) in hours_tables(result)
    )
    title, said = hours_answer(result), hours_sentence(result)
    return Drawn("hours", title, say("hours.subtitle"), f"{title}. {said}", said, svgs, tables, work)
