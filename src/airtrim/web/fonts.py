"""The page's font: two weights of Source Sans from its package, cut down to the letters pages use and packed.

The packed files are modified copies, so they go under a name of their own, as the font's licence asks.
"""

from pathlib import Path

from airtrim.report import fonts

WEIGHTS = {weight: f"airtrim-sans-{weight}.woff" for weight in fonts.FILES}
#: Latin letters with accents, punctuation, the signs of units and sums.
LETTERS = [
    *range(0x20, 0x7F),
    *range(0xA0, 0x180),
    0x2013,
    0x2014,
    0x2018,
    0x2019,
    0x201C,
    0x201D,
    0x2022,
    0x2026,
    0x203A,
]
LETTERS += [0x2082, 0x2190, 0x2191, 0x2192, 0x2193, 0x2212, 0x2248, 0x2264, 0x2265]


def write_fonts(folder: Path) -> None:
    """Write the packed fonts into `folder` unless they are there."""
    if all((folder / name).is_file() for name in WEIGHTS.values()):
        return
    from fontTools import subset
    from fontTools.ttLib import TTFont

    folder.mkdir(parents=True, exist_ok=True)
    for weight, name in WEIGHTS.items():
        options = subset.Options()
        options.flavor = "woff"
        options.layout_features = ["kern", "liga", "tnum", "lnum", "mark", "locl"]
        options.name_IDs = []
        options.desubroutinize = True
        font = TTFont(fonts.folder() / fonts.FILES[weight])
        cut = subset.Subsetter(options)
        cut.populate(unicodes=LETTERS)
        cut.subset(font)
        font.flavor = "woff"
        waiting = folder / f".{name}"
        font.save(waiting)
        waiting.replace(folder / name)
