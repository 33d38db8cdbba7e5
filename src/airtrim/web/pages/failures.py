"""Pages for what went wrong: not found, not allowed, broken. Each one sentence, and a way back."""

import logging

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from airtrim.report.words import say

log = logging.getLogger("airtrim.web")


def _page(request: HttpRequest, key: str, status: int) -> HttpResponse:
    context = {"title": say("web.failure.title"), "sentence": say(f"web.failure.{key}")}
    return render(request, "web/failure.html", context, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _page(request, "not_found", 404)


def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request that Django will not take: a foreign host, an oversized form, a broken upload."""
    log.warning("refused %r: %s", request.path, exception)
    return HttpResponse(say("web.failure.refused"), status=400, content_type="text/plain; charset=utf-8")


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    log.warning("refused a form without its token at %r: %s", request.path, reason)
    return HttpResponse(say("web.failure.forged"), status=403, content_type="text/plain; charset=utf-8")


def broken(request: HttpRequest) -> HttpResponse:
    return HttpResponse(say("web.failure.broken"), status=500, content_type="text/plain; charset=utf-8")
