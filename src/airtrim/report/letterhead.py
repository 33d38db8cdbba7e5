"""The firm's letterhead on the papers: from the shop's settings in the browser, or from a settings file by command line."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from airtrim.core.errors import InputError

#: Most letters of each line: what fits on paper.
MOST = {"firm": 120, "address": 240, "telephone": 60, "licence": 120}


@dataclass(frozen=True)
class Letterhead:
    """Plain texts, each up to MOST letters; left empty they are not printed."""

    firm: str = ""
    address: str = ""
    telephone: str = ""
    licence: str = ""

    @property
    def mark(self) -> str:
        """Sixteen letters that differ where the letterhead does; empty where nothing is given."""
        texts = [getattr(self, one.name) for one in fields(self)]
        return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:16] if any(texts) else ""


def printed(letterhead: Letterhead | None) -> dict[str, Any] | None:
    """The firm, and what stands beside it as far as given, as the templates print them; None where nothing is given."""
    if letterhead is None or not letterhead.mark:
        return None
    lines = [text for text in (letterhead.address, letterhead.telephone, letterhead.licence) if text]
    return {"firm": letterhead.firm, "lines": lines}


def read_letterhead(path: Path) -> Letterhead:
    """The table `[letterhead]` of a settings file (TOML); InputError says what is wrong and where."""
    example = '[letterhead] with firm = "Your firm", address, telephone and licence'
    if not path.is_file():
        raise InputError(f"There is no settings file at {path}; write one with the table {example}.")
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path} is not TOML ({error}); it needs the table {example}.") from error
    found = table.get("letterhead")
    if not isinstance(found, dict) or not found:
        raise InputError(f"{path} has no table [letterhead]; it needs {example}.")
    known = [one.name for one in fields(Letterhead)]
    for name, text in found.items():
        if name not in known:
            raise InputError(f"{path}: letterhead.{name} is not known; known are {', '.join(known)}.")
        if not isinstance(text, str):
            raise InputError(f'{path}: letterhead.{name} must be a text in quotes, such as {name} = "...".')
        if len(text) > MOST[name]:
            raise InputError(
                f"{path}: letterhead.{name} has {len(text)} letters; at most {MOST[name]} fit: shorten it."
            )
    return Letterhead(**{name: " ".join(text.split()) for name, text in found.items()})
