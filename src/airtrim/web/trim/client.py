"""Asking the resident process from a web thread."""

import json
import os
from multiprocessing.connection import Client
from typing import Any

from django.conf import settings


def ask(asked: dict[str, Any], wait_s: float) -> dict[str, Any]:
    """The resident's answer; {'state': 'away'} where there is no such process just now."""
    address = os.environ.get("AIRTRIM_TRIM", "")
    if not address:
        return {"state": "away"}
    try:
        with Client(address, family="AF_UNIX", authkey=settings.SECRET_KEY.encode()) as connection:
            connection.send_bytes(json.dumps({"asked": asked, "wait_s": wait_s}).encode())
            answer: dict[str, Any] = json.loads(connection.recv_bytes())
            return answer
    except (OSError, EOFError):
        return {"state": "away"}
