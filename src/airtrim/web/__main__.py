"""The processes `airtrim serve` starts: `python -m airtrim.web web | worker | trim`."""

import os
import sys
from pathlib import Path


def _web(address: str, port: str, certificate: str, key: str) -> None:
    from granian import Granian
    from granian.constants import Interfaces

    from airtrim.web.worker import end_with_parent

    end_with_parent(os.getppid())
    tls = {"ssl_cert": Path(certificate), "ssl_key": Path(key)} if certificate else {}
    Granian(
        "airtrim.web.wsgi:application",
        address=address,
        port=int(port),
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=4,
        backlog=256,
        websockets=False,
        log_access=False,
        respawn_failed_workers=True,
        **tls,
    ).serve()


def main() -> None:
    role, *words = sys.argv[1:]
    if role == "web":
        _web(*words)
    elif role == "worker":
        from airtrim.web.worker import main as work

        work()
    elif role == "trim":
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "airtrim.web.settings")
        from django.conf import settings

        from airtrim.web.trim.resident import main as trim

        trim(os.environ["AIRTRIM_TRIM"], settings.SECRET_KEY.encode())


if __name__ == "__main__":
    main()
