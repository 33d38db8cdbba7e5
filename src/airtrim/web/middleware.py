"""Who may come in, how much they may send, and one sentence for whatever was refused."""

import logging
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from airtrim.core.errors import AirtrimError
from airtrim.report.words import say

log = logging.getLogger("airtrim.web")
Next = Callable[[HttpRequest], HttpResponse]


class SizeLimit:
    """Refuse a post that is too long before anything reads it."""

    def __init__(self, following: Next) -> None:
        self.following = following

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not length.isdigit() or int(length) > settings.GREATEST_POST:
            log.warning("refused a post of %s bytes to %r", length[:20], request.path)
            return HttpResponse(say("web.failure.too_long"), status=413, content_type="text/plain; charset=utf-8")
        return self.following(request)


class Access:
    """Everybody on this computer may come in; over a network only who has logged in."""

    def __init__(self, following: Next) -> None:
        self.following = following

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.author = self._author(request)
        if not request.author and request.path not in (reverse("log_in"), reverse("alive")):
            if request.headers.get("HX-Request"):
                return HttpResponse(status=204, headers={"HX-Redirect": reverse("log_in")})
            return redirect(f"{reverse('log_in')}?next={request.path}")
        return self.following(request)

    def _author(self, request: HttpRequest) -> str:
        if request.user.is_authenticated:
            return str(request.user.get_username())
        return say("web.author.here") if settings.OPEN else ""


class Sentences:
    """An error raised on purpose becomes a page with its sentence."""

    def __init__(self, following: Next) -> None:
        self.following = following

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.following(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, AirtrimError):
            return None
        log.info("answered %r with: %s", request.path, error)
        return render(
            request, "web/failure.html", {"title": say("web.failure.title"), "sentence": str(error)}, status=422
        )
