"""Write docs/validation.md from tests/published and tests/scenarios, and check that links in the documents lead somewhere.

`--check`: only look.
"""

import importlib
import re
import sys
import tomllib
from typing import Any

from reference_pages import ROOT, pages

sys.path.insert(0, str(ROOT))  # the tables are read by the tests' own loader

from tests.published.coverage import without_outside_case
from tests.published.loader import FOLDER, cases_of, read_table, tables

DOCUMENTS = [
    ROOT / "README.md",
    ROOT / "CHANGELOG.md",
    ROOT / "CONTRIBUTING.md",
    *sorted((ROOT / "docs").rglob("*.md")),
]


def own_shape_error(table: dict[str, Any]) -> str:
    """The worst error of a table that a test of its own reads, where that test tells its errors; else where it is checked."""
    name = table["checked_by"].removesuffix(".py").replace("/", ".")
    told = getattr(importlib.import_module(name), "published_errors", None)
    if told is None:
        return f"in `{table['checked_by']}`"
    what, error, allowed = max(told(table), key=lambda one: abs(one[1]) / one[2])
    return f"{100.0 * abs(error) / allowed:.0f} % of {allowed:.2g} ({what})"


def validation() -> str:
    """The table of outside checks: function, source, place in it, kind, cases, worst error, what is allowed and why."""
    lines = [
        "# Outside checks",
        "",
        "Written by `docs/build.py` from `tests/published`; run by `./run test`. Sources are keys of `REFERENCES.bib`. The worst",
        "error is a share of what was allowed for that case; where a table has a shape of its own, the",
        "test named holds it against the model. `./run test --published DIR` adds anyone's own tables.",
        "",
        "| function | source | place | kind | cases | worst error | because |",
        "|---|---|---|---|---|---|---|",
    ]
    for path in tables([FOLDER]):
        table = read_table(path)
        cases = list(cases_of(path))
        if cases:
            worst = max(cases, key=lambda case: abs(case.got() - case.expected) / case.allowed)
            share = abs(worst.got() - worst.expected) / worst.allowed
            error = f"{100.0 * share:.0f} % of {worst.allowed:.2g} {worst.unit}".strip()
        else:
            error = own_shape_error(table)
        cells = (
            table["function"],
            table["source"],
            table["locator"],
            table["kind"],
            len(cases) or len(table.get("cases", [])) or "",
            error,
            table["tolerance"]["because"],
        )
        lines.append("| " + " | ".join(str(cell).replace("|", "/") for cell in cells) + " |")
    lines += [
        "",
        "## Public physics functions without an outside case",
        "",
        "No table above names them with figures that others vouch for. Many are steps inside a function that one does name; some",
        "meet outside figures in their own tests (leakage coefficients, an equation of state for the refrigerant).",
        "",
        *(f"- {name}" for name in without_outside_case()),
        *scenarios(),
    ]
    return "\n".join(lines) + "\n"


def scenarios() -> list[str]:
    """The table of the trade's cases: complaint, right reading, how far it is met, where it is tested."""
    cases = tomllib.loads((ROOT / "tests" / "scenarios" / "cases.toml").read_text())["case"]
    lines = [
        "",
        "## Cases of the trade",
        "",
        "Complaints retold from trade press and forums (`secondary`: behaviour to meet, never data). Each stands as a job in",
        "`tests/scenarios/jobs`, what it does not tell being invented, and is run through the calls a user makes.",
        "",
        "| case | complaint | what was right | met | tested in `tests/scenarios` |",
        "|---|---|---|---|---|",
    ]
    for one in cases:
        met = one["met"] if one["met"] == "whole" else f"{one['met']}: {one['lacks']}"
        cells = (one["id"], one["complaint"], one["right"], met, ", ".join(f"`{name}`" for name in one["tests"]))
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def dead_links() -> list[str]:
    """Relative links and pictures that point at nothing."""
    dead = []
    for document in DOCUMENTS:
        for target in re.findall(r"\]\(([^)#\s]+)\)", document.read_text()):
            if "://" not in target and not (document.parent / target).exists():
                dead.append(f"{document.relative_to(ROOT)}: {target}")
    return dead


def unknown_sources() -> list[str]:
    """Published tables whose source is not in REFERENCES.bib."""
    known = set(re.findall(r"^@\w+\{([^,]+),", (ROOT / "REFERENCES.bib").read_text(), re.MULTILINE))
    tables = sorted((ROOT / "tests" / "published").rglob("*.toml"))
    return [str(p.relative_to(ROOT)) for p in tables if tomllib.loads(p.read_text())["source"] not in known]


def main() -> int:
    target = ROOT / "docs" / "validation.md"
    wanted = validation()
    problems = [f"dead link in {link}" for link in dead_links()]
    problems += [f"source of {path} is not in REFERENCES.bib" for path in unknown_sources()]
    for page, text in pages().items():
        if "--check" not in sys.argv:
            page.parent.mkdir(exist_ok=True)
            page.write_text(text)
        elif not page.exists() or page.read_text() != text:
            problems.append(f"{page.relative_to(ROOT)} is stale: run .venv/bin/python docs/build.py")
    if "--check" not in sys.argv:
        target.write_text(wanted)
    elif not target.exists() or target.read_text() != wanted:
        problems.append("docs/validation.md is stale: run .venv/bin/python docs/build.py")
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if problems else 0


if __name__ == "__main__":
    raise SystemExit(main())
