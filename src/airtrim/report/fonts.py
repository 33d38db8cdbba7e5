"""The one sans of pages, pictures and papers: Source Sans (open, SIL Open Font License), from its package, in two weights."""

from __future__ import annotations

from functools import cache
from pathlib import Path

#: The family's name as its files give it; `web/fonts.py` packs the same files for the page under a name of its own.
FAMILY = "Source Sans Pro"
#: File of each weight used.
FILES = {400: "SourceSansPro-Regular.otf", 600: "SourceSansPro-Semibold.otf"}


def folder() -> Path:
    """Where the package keeps the font files."""
    import font_source_sans_pro

    return Path(font_source_sans_pro.__file__).parent / "files"


@cache
def _advances(weight: int) -> tuple[dict[int, float], float]:
    """Width of each letter by its code point, and of an M, in parts of the size."""
    from fontTools.ttLib import TTFont

    with TTFont(folder() / FILES[weight], lazy=True) as font:
        widths, units_per_em = font["hmtx"], float(font["head"].unitsPerEm)
        letters = {code: widths[name][0] / units_per_em for code, name in font.getBestCmap().items()}
    return letters, letters[ord("M")]


def width_px(text: str, size_px: float, weight: int = 400) -> float:
    """How wide `text` is set on one line, px; weight 400 or 600. A letter the font lacks counts as wide as an M."""
    letters, unknown = _advances(weight)
    return size_px * sum(letters.get(ord(letter), unknown) for letter in text)


def wrapped(text: str, room_px: float, size_px: float, weight: int = 400) -> list[str]:
    """`text` in lines that fit `room_px`, broken between words; a longer word stands alone."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_px(longer, size_px, weight) <= room_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
