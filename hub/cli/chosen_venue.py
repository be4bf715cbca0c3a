"""Which venue a command is about: the one named, or the only one that the hub has."""

from typing import Annotated

import typer

from hub.cli.client import HubClient
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode

VenueOption = Annotated[
    str | None,
    typer.Option("--venue", metavar="VENUE", help="Id of the venue; not needed while the hub has only one."),
]


def chosen_venue(client: HubClient, venue: str | None) -> str:
    """Raises CommandError when none is named and the hub has not exactly one."""
    if venue is not None:
        return venue
    venues = [str(one["id"]) for one in client.every("/venues")]
    if len(venues) == 1:
        return venues[0]
    if not venues:
        raise CommandError(ExitCode.NOT_FOUND, "the hub has no venue yet; load one with `stringcourse venue load FILE`")
    raise CommandError(
        ExitCode.BAD_INPUT, f"the hub has {len(venues)} venues; name one with --venue: {', '.join(venues)}"
    )
