"""Accounts, as the command line makes them: Django's own users, without roles."""

import re
from pathlib import Path
from typing import Any

from airtrim.core.errors import InputError
from airtrim.report.words import say
from airtrim.web.setup import with_database


def add(name: str, password: str, again: str, data: Path | None = None) -> str:
    """Make an account; raises `InputError` where name or password will not do."""
    with_database(data)
    if not re.fullmatch(r"[\w.@+-]{1,150}", name):
        raise InputError(say("web.account.bad_name", {"name": name[:160]}))
    users = _users()
    if users.filter(username=name).exists():
        raise InputError(say("web.account.exists", {"name": name}))
    user = users.model(username=name)
    _check(password, again, user)
    users.create_user(name, password=password)
    return say("web.account.made", {"name": name})


def set_password(name: str, password: str, again: str, data: Path | None = None) -> str:
    """Set a password anew; an account closed before is open again."""
    with_database(data)
    user = _found(name)
    _check(password, again, user)
    user.set_password(password)
    user.is_active = True
    user.save()
    return say("web.account.changed", {"name": name})


def close(name: str, data: Path | None = None) -> str:
    """Close an account."""
    with_database(data)
    user = _found(name)
    user.is_active = False
    user.save()
    return say("web.account.closed", {"name": name})


def names(data: Path | None = None) -> list[str]:
    """Names of the accounts that can log in."""
    with_database(data)
    return list(_users().filter(is_active=True).order_by("username").values_list("username", flat=True))


def _users() -> Any:
    from django.contrib.auth import get_user_model

    return get_user_model().objects


def _found(name: str) -> Any:
    user = _users().filter(username=name).first()
    if user is None:
        raise InputError(say("web.account.none", {"name": name}))
    return user


def _check(password: str, again: str, user: Any) -> None:
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    if password != again:
        raise InputError(say("web.account.differ"))
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise InputError(say("web.account.weak", {"why": " ".join(error.messages)})) from error
