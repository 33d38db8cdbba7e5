"""What changes the database: jobs, their versions, the shop's settings. Every call is one transaction."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from airtrim.core.errors import JobError
from airtrim.report.words import say
from airtrim.web import draft as drafts
from airtrim.web import fields, layout, lists
from airtrim.web.models import Job, JobVersion, Shop

#: As the document holds it: a text, a number, yes or no, several of them, or (None) nothing.
Value = Any
GREATEST_DOCUMENT = 500_000
#: What a version did, where it is no list of places: a row more or less, with its place; the whole document at once.
ADDED, REMOVED = "add", "remove"
WHOLE = ("import", "undo", "restore")


@dataclass(frozen=True)
class Edit:
    """One value somebody wrote, the text the form had shown there before, and of which version (None where it is not said).

    The version tells whether rows were taken out meanwhile, so that the place is another row's now.
    """

    place: str
    value: Value
    was: str
    since: int | None = None


@dataclass(frozen=True)
class Clash:
    """Two people wrote at one place: what stands there now, and what was refused for it."""

    place: str
    theirs: str
    mine: str
    author: str


@dataclass(frozen=True)
class Saved:
    """What came of some edits: the number of the newest version, what was not saved, and why."""

    number: int
    problems: tuple[drafts.Problem, ...] = ()
    clashes: tuple[Clash, ...] = ()


def create_job(name: str, author: str) -> Job:
    """A new job with nothing but its name and what the shop always fills in."""
    name = " ".join(name.split())
    if not name:
        raise JobError(say("web.failure.no_name"))
    text = f'airtrim_job = 1\nname = {_quoted(name[:200])}\n\n[thermostat]\nfan = "auto"\n'
    shop = Shop.objects.first()
    if shop is not None and shop.price_per_kwh:
        text += f"\n[tariff]\nprice_per_kwh = {float(shop.price_per_kwh)}\ncurrency = {_quoted(shop.currency)}\n"
    return _new(text, author, "new")


def import_job(text: str, author: str) -> Job:
    """A job from a job file, whose text is kept as it is; raises `JobError` where it is not one."""
    _readable(text)
    return _new(text, author, "import")


@transaction.atomic
def replace_document(job_id: UUID, text: str, author: str) -> JobVersion:
    """The next version of a job from a whole job file."""
    _readable(text)
    return _append(_locked(job_id), text, author, "import")


@transaction.atomic
def save_values(job_id: UUID, edits: Sequence[Edit], author: str) -> Saved:
    """Write values into the newest version, each on its own: a wrong or a clashing one keeps none of the others back.

    A place that somebody else changed since the form was shown is left as it is and comes back as a clash.
    """
    job = _locked(job_id)
    newest = job.versions.get(number=job.latest)
    text = newest.text
    problems: list[drafts.Problem] = []
    clashes: list[Clash] = []
    written: list[str] = []
    for edit in edits:
        before = drafts.read(text)
        if _moved(job, edit.place, edit.since):
            problems.append(drafts.Problem(edit.place, say("web.wrong.rows_moved")))
            continue
        stands, wanted = fields.written(before.value(edit.place)), fields.written(edit.value)
        if stands == wanted:
            continue
        if stands != edit.was:
            clashes.append(Clash(edit.place, stands, wanted, newest.author))
            continue
        if fields.field_at(edit.place).units and fields.has_decimal_comma(edit.value):
            problems.append(drafts.Problem(edit.place, say("web.wrong.decimal_comma", {"got": edit.value})))
            continue
        candidate = _with(before, edit)
        wrong = _made_wrong(before, drafts.read(candidate), edit.place)
        if wrong:
            problems.append(drafts.Problem(edit.place, wrong))
            continue
        text = candidate
        gone = taken_out(before, drafts.read(text), edit.place)
        if not gone:
            written.append(edit.place)
            continue
        if written:
            _append(job, before.text, author, ", ".join(written)[:200])
            written.clear()
        _append(job, text, author, f"{REMOVED} {gone}")  # a version of its own, for `_moved` to read
    if written:
        _append(job, text, author, ", ".join(written)[:200])
    return Saved(job.latest, tuple(problems), tuple(clashes))


@transaction.atomic
def add_row(job_id: UUID, place: str, values: Mapping[str, Value], author: str) -> Saved:
    """Add a row at the end of the list at `place`, all of it or (where something in it is wrong) nothing.

    A rule that several rows must meet together, such as periods that cover the week, keeps no row back: it stands as a problem
    of the list until the rows are all there. Problems come at the places of the row that would be added.
    """
    job = _locked(job_id)
    newest = job.versions.get(number=job.latest)
    before = drafts.read(newest.text)
    _reachable(before, place)
    row = f"{place}.{before.entries(place) + 1}"
    kind = lists.row_kind(place)
    text, problems = newest.text, []
    for key in kind.keys:
        value, at = values.get(key), f"{row}.{key}"
        if value is None:
            if fields.field_at(at).required:
                problems.append(drafts.Problem(at, say("web.wrong.needed")))
            continue
        if fields.field_at(at).units and fields.has_decimal_comma(value):
            problems.append(drafts.Problem(at, say("web.wrong.decimal_comma", {"got": fields.written(value)})))
        text = _with(drafts.read(text), Edit(at, value, ""))
    if all(value is None for value in values.values()):
        return Saved(job.latest, tuple(problems) or (drafts.Problem(row, say("web.wrong.needed")),))
    after = drafts.read(text)
    named = {one.place for one in problems}
    for key in kind.keys:
        at = f"{row}.{key}"
        if after.problem(at) and at not in named:
            problems.append(drafts.Problem(at, after.problem(at)))
    if not problems:
        problems += [
            drafts.Problem(row, one.sentence)
            for one in after.problems
            if one.place not in {known.place for known in before.problems}
            and not (_spans(one.place, row) and (one.place != row or kind.lists))
        ]
    if not problems:
        _append(job, text, author, f"{ADDED} {row}")
    return Saved(job.latest, tuple(problems))


@transaction.atomic
def remove_row(job_id: UUID, row: str, mark: str, author: str) -> Saved:
    """Take a row out of its list, unless it is another than the one shown (`mark`, of `lists.mark`): then a problem at it."""
    job = _locked(job_id)
    newest = job.versions.get(number=job.latest)
    before = drafts.read(newest.text)
    found = before.value(row)
    if found is None or lists.mark(found) != mark:
        return Saved(job.latest, (drafts.Problem(row, say("web.wrong.row_changed")),))
    _append(job, drafts.without_row(newest.text, row), author, f"{REMOVED} {row}")
    return Saved(job.latest)


@transaction.atomic
def restore(job_id: UUID, number: int, author: str) -> JobVersion:
    """Append a version whose text is that of an earlier one."""
    job = _locked(job_id)
    found = job.versions.filter(number=number).first()
    if found is None:
        raise JobError(say("web.failure.no_version", {"number": number}))
    return _append(job, found.text, author, "restore", restores=found.restores or found.number)


@transaction.atomic
def undo(job_id: UUID, author: str) -> JobVersion:
    """Append the version before the newest; said again, the one before that."""
    job = _locked(job_id)
    newest = job.versions.get(number=job.latest)
    earlier = (newest.restores or newest.number) - 1
    found = job.versions.filter(number=earlier).first()
    if found is None:
        raise JobError(say("web.failure.nothing_to_undo"))
    return _append(job, found.text, author, "undo", restores=found.restores or found.number)


def shop() -> Shop:
    """The shop's one row of settings."""
    return Shop.objects.get_or_create(pk=1)[0]


def _with(before: drafts.Draft, edit: Edit) -> str:
    """The text with one edit in it, and what the edit brings along: a new reading's identity, the coil's size."""
    text = drafts.changed(before.text, edit.place, edit.value)
    parts = edit.place.split(".")
    if parts[0] == "readings" and edit.value is not None and before.value(f"readings.{parts[1]}") is None:
        text = drafts.changed(text, f"readings.{parts[1]}.id", str(uuid4()))
    for follower, leader in layout.FOLLOWS.items():
        if edit.place == leader and before.value(follower) in (None, before.value(leader)):
            text = drafts.changed(text, follower, edit.value)
    return text


def _made_wrong(before: drafts.Draft, after: drafts.Draft, place: str) -> str:
    """What an edit made wrong, at its own place or at one it contradicts; nothing where all was so before."""
    own = after.problem(place)
    if own:
        return own
    known = {one.place for one in before.problems}
    new = (one for one in after.problems if one.place not in known)
    return next((one.sentence for one in new if not _spans(one.place, place)), "")


def _spans(problem: str, place: str) -> bool:
    """Whether a problem is of the whole that `place`, in a row of a list, is a part of.

    Such a rule can often be met only when the other rows are there too; it stands at the list until it is.
    """
    in_list = any(lists.parted(row)[0] != "readings" for row in lists.rows_above(place))
    return in_list and bool(problem) and f"{place}.".startswith(f"{problem}.")


def _moved(job: Job, place: str, since: int | None) -> bool:
    """Whether a row at or above that of `place` was taken out after version `since`, or the whole document replaced."""
    rows = lists.rows_above(place)
    if since is None or not rows:
        return False
    for what in job.versions.filter(number__gt=since).values_list("what", flat=True):
        if what in WHOLE:
            return True
        if what.startswith(f"{REMOVED} "):
            place_of_list, number = lists.parted(what.removeprefix(f"{REMOVED} "))
            if any(lists.parted(row)[0] == place_of_list and lists.parted(row)[1] >= number for row in rows):
                return True
    return False


def taken_out(before: drafts.Draft, after: drafts.Draft, place: str) -> str:
    """The row that went with its last value, if one did: the outermost."""
    return next(
        (
            row
            for row in lists.rows_above(place)
            if after.entries(lists.parted(row)[0]) < before.entries(lists.parted(row)[0])
        ),
        "",
    )


def _reachable(draft: drafts.Draft, place: str) -> None:
    """Raise `JobError` unless `place` is a list of the job layer, within rows that are there (or the first or next reading)."""
    missing = JobError(say("web.failure.no_place", {"place": place[:80]}))
    if not lists.is_list(place):
        raise missing
    for row in lists.rows_above(place):
        place_of_list, number = lists.parted(row)
        most = draft.entries(place_of_list) + (place_of_list == "readings")
        if not 1 <= number <= most:
            raise missing


def _readable(text: str) -> None:
    if len(text) > GREATEST_DOCUMENT:
        raise JobError(say("web.failure.too_long"))
    table = drafts.read(text).table
    if table.get("airtrim_job") != 1:
        raise JobError(say("web.failure.no_job_file"))


@transaction.atomic
def _new(text: str, author: str, what: str) -> Job:
    job = Job.objects.create(name="")
    _append(job, text, author, what)
    return job


def _locked(job_id: UUID) -> Job:
    found = Job.objects.select_for_update().filter(pk=job_id).first()
    if found is None:
        raise JobError(say("web.failure.no_job"))
    return found


def _append(job: Job, text: str, author: str, what: str, restores: int | None = None) -> JobVersion:
    """Add a version and copy what the list of jobs shows."""
    table = drafts.read(text).table
    house: Any = table.get("house")
    job.name = str(table.get("name") or say("web.jobs.unnamed"))[:200]
    job.place = str(house.get("place", ""))[:200] if isinstance(house, dict) else ""
    job.search = f"{job.name} {job.place}".casefold()[:500]
    job.latest += 1
    version = JobVersion.objects.create(
        job=job,
        number=job.latest,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        author=author[:150],
        what=what,
        restores=restores,
    )
    job.save()
    return version


def _quoted(text: str) -> str:
    import tomlkit

    return tomlkit.string(text).as_string()


def save_shop(**values: str) -> dict[str, str]:
    """Change the shop's settings; returns no problems, as the forms' checks do."""
    found = shop()
    for name, value in values.items():
        setattr(found, name, value)
    found.save()
    return {}
