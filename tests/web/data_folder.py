"""Loaded before Django's settings are: the tests' data folder, open as on 127.0.0.1, never the user's own."""

import atexit
import os
import shutil
import tempfile

if "AIRTRIM_DATA" not in os.environ:
    os.environ["AIRTRIM_DATA"] = tempfile.mkdtemp(prefix="airtrim-tests-")
    atexit.register(shutil.rmtree, os.environ["AIRTRIM_DATA"], ignore_errors=True)
os.environ["AIRTRIM_OPEN"] = "1"
os.environ.pop("AIRTRIM_TRIM", None)
