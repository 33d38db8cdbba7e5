"""Logging in and out, with Django's own accounts."""

from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from airtrim.report.words import say


@require_http_methods(["GET", "POST"])
def log_in(request: HttpRequest) -> HttpResponse:
    name = request.POST.get("name", "")[:150].replace("\x00", "")
    following = request.POST.get("next") or request.GET.get("next", "")
    if not url_has_allowed_host_and_scheme(following, {request.get_host()}, request.is_secure()):
        following = ""
    problem = ""
    if request.method == "POST":
        user = authenticate(request, username=name, password=request.POST.get("password", "")[:200])
        if user is not None:
            login(request, user)
            return redirect(following or "jobs")
        problem = say("web.account.wrong")
    context = {"name": name, "next": following, "problem": problem}
    return render(request, "web/log_in.html", context, status=422 if problem else 200)


@require_POST
def log_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("log_in")
