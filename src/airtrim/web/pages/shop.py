"""The shop's settings: units and paper, letterhead, tariff, the ways it reads airflow."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from airtrim.core.errors import AirtrimError
from airtrim.job.measured import measured
from airtrim.report.words import say
from airtrim.web import selectors, services
from airtrim.web.models import Instrument, Shop

UNITS, SIZES = ("inch_pound", "si"), ("letter", "a4")
LETTERHEAD = ("firm", "address", "telephone", "licence")


@dataclass(frozen=True)
class ShopPage:
    """`typed` holds what was sent and refused, `problems` a sentence for each field."""

    shop: Shop
    instruments: tuple[Instrument, ...]
    units: tuple[tuple[str, str, bool], ...]
    sizes: tuple[tuple[str, str, bool], ...]
    typed: dict[str, str] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    saved: str = ""


@require_GET
def shop(request: HttpRequest) -> HttpResponse:
    return _page(request, saved=request.GET.get("saved", ""))


def _page(
    request: HttpRequest,
    typed: dict[str, str] | None = None,
    problems: dict[str, str] | None = None,
    saved: str = "",
    status: int = 200,
) -> HttpResponse:
    found = selectors.shop()
    page = ShopPage(
        found,
        tuple(selectors.instruments()),
        tuple((one, say(f"web.shop.units.{one}"), one == found.units) for one in UNITS),
        tuple((one, say(f"web.shop.paper.{one}"), one == found.paper) for one in SIZES),
        {name: getattr(found, name) for name in (*LETTERHEAD, "price_per_kwh", "currency")} | (typed or {}),
        problems or {},
        saved if saved in ("units", "letterhead", "tariff", "instrument") else "",
    )
    return render(request, "web/shop.html", {"page": page}, status=status)


@require_POST
def save(request: HttpRequest, part: str) -> HttpResponse:
    """Save one part of the settings; a wrong value keeps what was typed and says what is wrong."""
    sent = {name: request.POST.get(name, "").replace("\x00", "").strip() for name in request.POST}
    problems = {"units": _units, "letterhead": _letterhead, "tariff": _tariff, "instrument": _instrument}[part](sent)
    if problems:
        return _page(request, sent, problems, status=422)
    return redirect(f"{request.path_info.rsplit('/', 2)[0]}/?saved={part}#{part}")


def _units(sent: dict[str, str]) -> dict[str, str]:
    if sent.get("units") not in UNITS or sent.get("paper") not in SIZES:
        return {"units": say("web.shop.choose")}
    return services.save_shop(units=sent["units"], paper=sent["paper"])


def _letterhead(sent: dict[str, str]) -> dict[str, str]:
    long = {
        name: say("web.shop.too_long", {"most": Shop._meta.get_field(name).max_length})
        for name in LETTERHEAD
        if len(sent.get(name, "")) > Shop._meta.get_field(name).max_length
    }
    return long or services.save_shop(**{name: sent.get(name, "") for name in LETTERHEAD})


def _tariff(sent: dict[str, str]) -> dict[str, str]:
    """The job layer's own rule for a price is asked."""
    from pydantic import ValidationError

    from airtrim.job.tariff import Tariff

    price = sent.get("price_per_kwh", "")
    given: dict[str, Any] = {"currency": sent.get("currency", "") or "USD"} | (
        {"price_per_kwh": price} if price else {}
    )
    try:
        Tariff.model_validate(given)
    except ValidationError as error:
        from airtrim.web.draft import told

        return {str(one["loc"][0]): told(one) for one in error.errors()}
    return services.save_shop(price_per_kwh=price, currency=str(given["currency"]))


def _instrument(sent: dict[str, str]) -> dict[str, str]:
    if sent.get("remove", "").isdecimal():
        Instrument.objects.filter(pk=int(sent["remove"])).delete()
        return {}
    problems = {}
    name, accuracy, checked = (sent.get(key, "") for key in ("name", "accuracy", "checked"))
    if not name or len(name) > 80:
        problems["name"] = say("web.shop.name")
    text = accuracy if not accuracy or accuracy.endswith("%") else f"{accuracy} %"
    try:
        measured(text, "", 0.0, 1.0, say("web.shop.accuracy"), "7 %")
    except AirtrimError as error:
        problems["accuracy"] = str(error)
    day = None
    if checked:
        try:
            day = date.fromisoformat(checked)
        except ValueError:
            problems["checked"] = say("web.shop.date")
    if not problems:
        Instrument.objects.update_or_create(name=name, defaults={"accuracy": text, "checked": day})
    return problems
