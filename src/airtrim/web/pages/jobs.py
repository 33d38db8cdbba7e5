"""The list of jobs, a new job, a job file brought in."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from airtrim.core.errors import AirtrimError
from airtrim.report.words import say
from airtrim.web import selectors, services


@dataclass(frozen=True)
class JobsPage:
    found: selectors.JobPage
    search: str
    name: str = ""
    name_problem: str = ""
    file_problem: str = ""


@require_GET
def jobs(request: HttpRequest) -> HttpResponse:
    """The jobs, newest change first; what is typed in the search narrows them."""
    search = request.GET.get("q", "")[:100].replace("\x00", "")
    number = request.GET.get("page", "1")
    page = JobsPage(
        selectors.jobs(search, max(int(number), 1) if number.isdecimal() and len(number) < 7 else 1), search
    )
    template = "web/job_list.html" if request.htmx and not request.htmx.boosted else "web/jobs.html"
    return render(request, template, {"page": page})


@require_http_methods(["POST"])
def new(request: HttpRequest) -> HttpResponse:
    name = request.POST.get("name", "").replace("\x00", "")
    try:
        job = services.create_job(name, request.author)
    except AirtrimError as error:
        page = JobsPage(selectors.jobs("", 1), "", name=name, name_problem=str(error))
        return render(request, "web/jobs.html", {"page": page}, status=422)
    return redirect("survey", job.pk)


@require_http_methods(["POST"])
def bring_in(request: HttpRequest) -> HttpResponse:
    """A job from an uploaded job file, kept to the letter."""
    try:
        job = services.import_job(text_of(request), request.author)
    except AirtrimError as error:
        page = JobsPage(selectors.jobs("", 1), "", file_problem=str(error))
        return render(request, "web/jobs.html", {"page": page}, status=422)
    return redirect("survey", job.pk)


def text_of(request: HttpRequest) -> str:
    """The text of the uploaded job file; raises `JobError` where there is none or it is no text."""
    from airtrim.core.errors import JobError

    file = request.FILES.get("file")
    if file is None:
        raise JobError(say("web.failure.no_file"))
    try:
        return str(file.read().decode("utf-8"))
    except UnicodeDecodeError as error:
        raise JobError(say("web.failure.no_text", {"file": str(file.name)[:80]})) from error
