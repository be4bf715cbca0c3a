"""`stringcourse token`: tokens for API, page and command line."""

import os
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter, ValidationError

from hub.api.tokens import TokenService
from hub.cli.client import AsJson
from hub.cli.command_error import CommandError
from hub.cli.database import DatabaseUrl
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, print_json, say
from hub.database import open_database
from hub.errors import UnavailableError
from hub.settings import Settings
from schemas.contract import PersonName

group = typer.Typer(help="Tokens that let people and programs in.", no_args_is_help=True)

_PERSON = TypeAdapter(PersonName)


@group.callback()
def _group() -> None:
    # With a callback Typer keeps `new` a subcommand though it is the only one.
    pass


@group.command()
def new(
    data: Annotated[Path, typer.Option(help="Data folder of the hub.", metavar="DIR")],
    name: Annotated[
        str | None,
        typer.Option(help="The person whom it is for: rollouts then say who asked for them and who approved."),
    ] = None,
    database: DatabaseUrl = None,
    as_json: AsJson = False,
) -> None:
    """Make a token and print it, once. Works beside a running hub, on the hub's own machine.

    Where a venue has rollouts approved by a second person, each of the two needs a token with their own name.

    Example: export STRINGCOURSE_TOKEN=$(stringcourse token new --data DIR --name "A. Duty")
    """
    person = None if name is None else _person(name)
    if not data.is_dir():
        raise CommandError(ExitCode.BAD_INPUT, f"--data: there is no folder {data}; name the one of the hub")
    os.umask(0o077)  # as `up` does: the database is for its owner alone
    try:
        token = _make(Settings(data_dir=data, database_url=database).resolved_database_url, person)
    except UnavailableError as error:
        option = "--database" if database else "--data"
        raise CommandError(ExitCode.BAD_INPUT, f"{option}: {error.detail}") from error
    if as_json:
        print_json({"token": token, "name": person})
    else:
        complain("This token is shown once; only its hash is kept.")
        say(token)


def _person(name: str) -> str:
    try:
        person: str = _PERSON.validate_python(name)
    except ValidationError as error:
        words = "a name has 1 to 80 characters, and no control characters among them"
        raise CommandError(ExitCode.BAD_INPUT, f"--name: {words}") from error
    return person


def _make(url: str, person: str | None) -> str:
    engine = open_database(url)
    try:
        return TokenService(engine).make(person)
    finally:
        engine.dispose()
