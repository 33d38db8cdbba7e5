"""The program that draws a picture to be explored in the browser: Vega as vl-convert carries it, written to one file.

Its expressions are interpreted (`ast`), so the strict policy holds; only who asks to explore a picture loads it.
"""

import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

#: vl-convert holds the interpreter and much memory while it works: it does so in a process of its own.
_WRITE = """
import sys, vl_convert
text = vl_convert.javascript_bundle("window.airtrimExplore = vegaEmbed;", vl_version="6.4")
open(sys.argv[1], "w", encoding="utf-8").write("(() => {" + text + "})();")
"""


def write_program(folder: Path) -> None:
    """Write `vega.js` into `folder` unless this vl-convert has written it already."""
    folder.mkdir(parents=True, exist_ok=True)
    stamp, wanted = folder / "written-by.txt", version("vl-convert-python")
    if (folder / "vega.js").is_file() and stamp.is_file() and stamp.read_text(encoding="ascii") == wanted:
        return
    waiting = folder / ".vega.js"
    subprocess.run([sys.executable, "-c", _WRITE, str(waiting)], check=True)
    waiting.replace(folder / "vega.js")
    stamp.write_text(wanted, encoding="ascii")
