"""Pages of docs/reference, written from the program itself: its commands, the job file, the words for its settings."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))  # the pages are written from the program beside them


def pages() -> dict[Path, str]:
    """Path of each page and the text it ought to have."""
    folder = ROOT / "docs" / "reference"
    return {folder / "commands.md": commands_page(), folder / "job-file.md": job_file_page()}


def _help(arguments: list[str]) -> str:
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "COLUMNS": "100", "NO_COLOR": "1", "TERM": "dumb"}
    done = subprocess.run(
        [sys.executable, "-m", "airtrim.cli", *arguments, "--help"],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    return "\n".join(line.rstrip() for line in done.stdout.strip().splitlines())


def command_names() -> list[str]:
    """Names of all commands, in the order they are shown."""
    from airtrim.cli.commands import application

    return [str(one.name) for one in application.registered_commands]


def commands_page() -> str:
    lines = [
        "# Commands",
        "",
        "Written by `docs/build.py` from the program's own help. `./run COMMAND` is the same as `airtrim COMMAND`.",
        "",
    ]
    lines += [
        "Exit status: 0 the answer was computed, 2 the input can be mended (one sentence says how), 3 something unexpected",
        "(a log is named), 130 stopped by hand.",
        "",
    ]
    for name in command_names():
        lines += [f"## {name}", "", "```text", _help([name]), "```", ""]
    return "\n".join(lines).rstrip() + "\n"


def _kind(field: dict[str, Any]) -> str:
    """What is written there, in words."""
    one = next(one for one in field.get("anyOf", [field]) if one.get("type") != "null")
    if "$ref" in one:
        return "a table, see below"
    if "enum" in one:
        return ", ".join(f"`{value}`" for value in one["enum"])
    if "const" in one:
        return f"`{one['const']}`"
    if one.get("type") == "array":
        return "tables, see below" if "$ref" in one["items"] else f"list of: {_kind(one['items'])}"
    if "examples" in one:
        return f'number and unit, such as `"{one["examples"][0]}"`'
    words = {
        "integer": "whole number",
        "number": "number",
        "string": "text",
        "boolean": "true or false",
        "object": "a table",
    }
    text = words[str(one["type"])]
    return f"{text}, {one['minimum']:g} to {one['maximum']:g}" if "minimum" in one and "maximum" in one else text


def job_file_page() -> str:
    from airtrim.job import json_schema

    schema = json_schema()
    definitions = schema["$defs"]
    lines = [
        "# The job file",
        "",
        "Written by `docs/build.py` from the job file's own schema (`airtrim schema` prints it). One TOML file a job; every",
        "value with a dimension carries its unit, inch-pound or SI. What is left out is assumed with a range, and the papers",
        "say so.",
        "",
    ]

    def table(path: str, repeated: bool, one: dict[str, Any]) -> None:
        required = set(one.get("required", []))
        heading = "The file" if not path else f"`[[{path}]]`" if repeated else f"`[{path}]`"
        lines.extend([f"## {heading}", "", "| key | what is written | meaning | if left out |", "|---|---|---|---|"])
        below: list[tuple[str, bool, dict[str, Any]]] = []
        for key, field in one["properties"].items():
            default = field.get("default")
            shown = "" if default in (None, [], {}) or isinstance(default, dict) else f"`{default}`"
            about = str(field.get("description", "")).replace("|", "/").splitlines()
            absent = "needed" if key in required else shown
            lines.append(f"| `{key}` | {_kind(field)} | {about[0] if about else ''} | {absent} |")
            for choice in field.get("anyOf", [field]):
                target = choice.get("$ref") or choice.get("items", {}).get("$ref")
                if target:
                    below.append((f"{path}.{key}".strip("."), "items" in choice, definitions[target.rsplit("/", 1)[1]]))
        lines.append("")
        for each in below:
            table(*each)

    table("", False, schema)
    return "\n".join(lines).rstrip() + "\n"
