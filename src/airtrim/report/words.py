"""Sentences of the report: message id and values in, one sentence out. Wording lives only in words/en.toml."""

from __future__ import annotations

import string
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from airtrim.core.errors import InputError

_FOLDER = Path(__file__).parent / "words"


@cache
def catalogue(language: str = "en") -> dict[str, str]:
    """All sentences of `language`, id -> text with {named} fields; tables are joined to ids with dots."""
    path = _FOLDER / f"{language}.toml"
    if not path.is_file():
        raise InputError(f"There is no word list for language '{language}'; use 'en'.")
    return _flat(tomllib.loads(path.read_text(encoding="utf-8")), "")


def _flat(table: Mapping[str, Any], prefix: str) -> dict[str, str]:
    out: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, Mapping):
            out.update(_flat(value, f"{prefix}{key}."))
        else:
            out[prefix + key] = str(value)
    return out


def fields(identity: str) -> frozenset[str]:
    """Names of the fields the sentence `identity` wants."""
    return frozenset(name for _, name, _, _ in string.Formatter().parse(_sentence(identity)) if name)


def known(identity: str) -> bool:
    """Whether the catalogue has a sentence for `identity`."""
    return identity in catalogue()


def _sentence(identity: str) -> str:
    try:
        return catalogue()[identity]
    except KeyError:
        raise InputError(f"The word list has no sentence '{identity}'; add it to report/words/en.toml.") from None


def say(identity: str, values: Mapping[str, Any] | None = None) -> str:
    """The sentence `identity` with its fields filled; a field without a value is an error, never a blank."""
    sentence, given = _sentence(identity), dict(values or {})
    missing = sorted(fields(identity) - given.keys())
    if missing:
        raise InputError(
            f"The sentence '{identity}' wants values for {', '.join(missing)}; give them with the message."
        )
    return sentence.format(**given)


def label(identity: str, kind: str = "figure") -> str:
    """Name of a figure, option, setting or limit: the catalogue's `kind.identity`, else the id itself in plain words."""
    key = f"{kind}.{identity}"
    return catalogue()[key] if known(key) else identity.replace("_", " ").replace(".", ": ")
