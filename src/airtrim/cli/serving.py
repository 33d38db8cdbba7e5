"""The commands of the web application: serve, backup, restore, account."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

Data = Annotated[Path | None, typer.Option("--data", help="Folder of the database; the usual one if left out.")]
Name = Annotated[str, typer.Argument(help="Name to log in with.")]
FromStandardInput = Annotated[bool, typer.Option("--stdin", help="Read the password from standard input.")]

account = typer.Typer(help="Accounts of people who log in over a network.", no_args_is_help=True)


def add_to(application: typer.Typer) -> None:
    """Hook these commands into the command line."""
    application.command("serve")(serve)
    application.command("backup")(backup)
    application.command("restore")(restore)
    application.add_typer(account, name="account")


def serve(
    address: Annotated[str, typer.Option("--address", help="IP address to serve at.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=1, max=65535)] = 8642,
    data: Data = None,
    certificate: Annotated[Path | None, typer.Option("--certificate", help="TLS certificate, PEM.")] = None,
    key: Annotated[Path | None, typer.Option("--key", help="Its key, PEM.")] = None,
    behind_proxy: Annotated[
        bool, typer.Option("--behind-proxy", help="A proxy in front holds the certificate; people log in.")
    ] = False,
    name: Annotated[
        list[str] | None, typer.Option("--name", help="Host name people type; may be given more than once.")
    ] = None,
) -> None:
    """Serve the job in a browser: web, worker and trim with one command. On 127.0.0.1 nobody logs in."""
    from airtrim.web.serve import Serving, serve

    serve(Serving(address, port, data, certificate, key, behind_proxy, tuple(name or ())), typer.echo)


def backup(
    path: Annotated[Path, typer.Argument(help="File to write.")],
    data: Data = None,
) -> None:
    """Copy the database into one file, also while airtrim serves, and check the copy."""
    from airtrim.web.backup import write_backup

    typer.echo(write_backup(path, data))


def restore(
    path: Annotated[Path, typer.Argument(help="A backup.")],
    data: Data = None,
    replace: Annotated[bool, typer.Option("--replace", help="Put it in place of the jobs that are there.")] = False,
) -> None:
    """Put a backup in place; what was there before is kept beside it."""
    from airtrim.web.backup import restore_backup

    for sentence in restore_backup(path, data, replace):
        typer.echo(sentence)


def _password(from_standard_input: bool) -> tuple[str, str]:
    """The password and its repetition."""
    if from_standard_input:
        typed = sys.stdin.readline().rstrip("\n")
        return typed, typed
    first = typer.prompt("Password", hide_input=True, err=True)
    return first, typer.prompt("Once more", hide_input=True, err=True)


@account.command("add")
def account_add(name: Name, data: Data = None, stdin: FromStandardInput = False) -> None:
    """Make an account; the password is asked for."""
    from airtrim.web.accounts import add

    typer.echo(add(name, *_password(stdin), data))


@account.command("password")
def account_password(name: Name, data: Data = None, stdin: FromStandardInput = False) -> None:
    """Set an account's password anew."""
    from airtrim.web.accounts import set_password

    typer.echo(set_password(name, *_password(stdin), data))


@account.command("close")
def account_close(name: Name, data: Data = None) -> None:
    """Close an account; what it wrote stays."""
    from airtrim.web.accounts import close

    typer.echo(close(name, data))


@account.command("list")
def account_list(data: Data = None) -> None:
    """List the accounts that can log in."""
    from airtrim.web.accounts import names

    for name in names(data):
        typer.echo(name)
