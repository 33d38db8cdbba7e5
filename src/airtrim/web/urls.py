"""Where the pages are."""

from django.http import HttpRequest, HttpResponse
from django.urls import path

from airtrim.web.pages import accounts, findings, forms, jobs, options, papers, results, shop, trim


def alive(request: HttpRequest) -> HttpResponse:
    """For whoever watches the server."""
    return HttpResponse("ok", content_type="text/plain")


urlpatterns = [
    path("", jobs.jobs, name="jobs"),
    path("new/", jobs.new, name="new"),
    path("bring-in/", jobs.bring_in, name="bring_in"),
    path("alive/", alive, name="alive"),
    path("shop/", shop.shop, name="shop"),
    *(
        path(f"shop/{part}/", shop.save, {"part": part}, name=f"shop_{part}")
        for part in ("units", "letterhead", "tariff", "instrument")
    ),
    path("account/in/", accounts.log_in, name="log_in"),
    path("account/out/", accounts.log_out, name="log_out"),
    path("work/<uuid:item_id>/", results.work, name="work"),
    path("work/<uuid:item_id>/cancel/", results.cancel, name="cancel"),
    path("job/<uuid:job_id>/survey/", forms.survey, name="survey"),
    path("job/<uuid:job_id>/readings/", forms.readings, name="readings"),
    path("job/<uuid:job_id>/readings/first/", trim.first_look, name="first_look"),
    *(
        path(f"job/<uuid:job_id>/{page}/set/", forms.set_values, {"page": page}, name=f"set_{page}")
        for page in ("survey", "readings")
    ),
    path("job/<uuid:job_id>/findings/", findings.findings, name="findings"),
    path("job/<uuid:job_id>/findings/workings/", findings.workings, name="workings"),
    path("job/<uuid:job_id>/compute/", results.compute, name="compute"),
    *(
        path(
            f"job/<uuid:job_id>/pictures/<slug:name>/{width}.json", results.specification, {"width": width}, name=width
        )
        for width in ("narrow", "wide")
    ),
    path("job/<uuid:job_id>/options/", options.options, name="options"),
    path("job/<uuid:job_id>/settings/", results.settings, name="settings"),
    path("job/<uuid:job_id>/settings/trim/", trim.trim, name="trim"),
    path("job/<uuid:job_id>/settings/trim/year/", trim.year, name="year"),
    path("job/<uuid:job_id>/papers/", papers.papers, name="papers"),
    path("job/<uuid:job_id>/papers/make/", papers.make_paper, name="make_paper"),
    path("job/<uuid:job_id>/papers/report.pdf", papers.pdf, name="pdf"),
    path("job/<uuid:job_id>/papers/owner/", papers.owner, name="owner"),
    path("job/<uuid:job_id>/papers/compare/", papers.compare, name="compare"),
    path("job/<uuid:job_id>/job.toml", papers.job_file, name="job_file"),
    path("job/<uuid:job_id>/versions/<int:number>/job.toml", papers.job_file, name="version_file"),
    path("job/<uuid:job_id>/versions/<int:number>/restore/", papers.restore, name="restore"),
    path("job/<uuid:job_id>/replace/", papers.replace, name="replace"),
    path("job/<uuid:job_id>/undo/", papers.undo, name="undo"),
]
handler400 = "airtrim.web.pages.failures.refused"
handler404 = "airtrim.web.pages.failures.not_found"
handler500 = "airtrim.web.pages.failures.broken"
