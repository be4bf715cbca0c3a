"""`stringcourse look`: looks that fit any venue; add one as a scene, see them all on one picture."""

from pathlib import Path
from typing import Annotated

import typer
from pydantic import ValidationError

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import Force, check_free, write_whole
from hub.cli.printing import print_json, print_table, say
from hub.errors import InvalidError, NotFoundError
from hub.looks import Look, LookZones, look_of, looks
from hub.looks.look import ROLES
from hub.validation import mistakes_of
from hub.venue_file import read_venue_file
from schemas.venue import Venue

_ROLES = "\n\n".join(f"{role}: {LookZones.model_fields[role].description}" for role in ROLES)

group = typer.Typer(
    help="Looks: scenes that fit any venue. Tell which of your zones plays which role, and a look becomes your scene.",
    epilog=f"Roles. Only `front` is needed; what has no zone is left out.\n\n{_ROLES}",
    no_args_is_help=True,
)
LookId = Annotated[str, typer.Argument(metavar="LOOK", help="Id of the look; `list` has them.", show_default=False)]
ZoneOptions = Annotated[
    list[str] | None,
    typer.Option("--zone", metavar="ROLE=ZONE", help="A zone of the venue and the role it plays; as often as needed."),
]


@group.command("list")
def list_looks(as_json: AsJson = False) -> None:
    """List the looks, what each is for and the roles it has something for. Needs no hub."""
    if as_json:
        print_json([look.model_dump(mode="json") for look in looks().values()])
        return
    rows = [(look.id, look.title, look.place, _roles(look)) for look in looks().values()]
    print_table(("look", "title", "for", "roles"), rows)


@group.command()
def show(look: LookId, as_json: AsJson = False) -> None:
    """Show one look: why one would want it, its roles and its layers from the bottom up. Needs no hub."""
    chosen = _chosen(look)
    if as_json:
        print_json(chosen)
        return
    say(f"{chosen.title} ({chosen.id})")
    say(chosen.place)
    say()
    say(chosen.note)
    say()
    roles = [(one.role, "needed" if one.required else "", one.description) for one in chosen.roles]
    print_table(("role", "", "a zone of yours with"), roles)
    say()
    rows = [
        (
            layer.zone,
            layer.pattern.pattern,
            layer.blend,
            f"{layer.opacity:.0%}",
            "" if layer.mask is None else layer.mask.pattern,
        )
        for layer in chosen.layers
    ]
    print_table(("layer over", "pattern", "blend", "opacity", "mask"), rows)


@group.command()
def add(
    look: LookId,
    zone: ZoneOptions = None,
    scene_id: Annotated[
        str | None, typer.Option("--id", metavar="ID", help="Id of the scene; the look's own without it.")
    ] = None,
    title: Annotated[str | None, typer.Option(metavar="TEXT", help="Title of the scene; else the look's own.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace the scene that has this id.")] = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Add a look to a venue as a scene over its zones. From then on it is a scene like any other, yours to change.

    Example: stringcourse look add lamplight --zone front=front --zone openings=arches --zone lines=fascia
    """
    chosen = _chosen(look)
    zones = _zones(zone)
    body = {"zones": zones.model_dump(exclude_none=True), "id": scene_id, "title": title}
    headers = {"If-Match": "*"} if replace else {"If-None-Match": "*"}
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "looks", chosen.id)
        added = client.call("POST", path, json=body, headers=headers).json()
    if as_json:
        print_json(added)
        return
    left_out = [one.role for one in chosen.roles if zones.of(one.role) is None]
    say(f"{added['id']} is a scene of the venue now, of {len(added['layers'])} layers.")
    if left_out:
        say(f"Left out, for want of a zone: {', '.join(left_out)}.")
    say(
        f"See it with `stringcourse scene preview {added['id']}`, take it with `stringcourse scene take {added['id']}`."
    )


@group.command()
def sheet(
    out: Annotated[Path, typer.Option(metavar="FILE", help="PNG file to write; - for standard output.")],
    zone: ZoneOptions = None,
    file: Annotated[
        Path | None, typer.Option("--file", metavar="FILE", help="Venue file to draw, in place of a hub's venue.")
    ] = None,
    force: Force = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Draw every look on your zones, then your venue's own scenes: one picture, a row a scene, eight instants of each.

    Without --zone only the venue's own scenes are drawn. With --file it needs no hub.

    Example: stringcourse look sheet --file venue.yaml --zone front=front --zone lines=fascia --out looks.png
    """
    check_free(out, force=force)
    zones = _zones(zone) if zone else None
    try:
        drawn = _venue_of(venue, hub) if file is None else read_venue_file(file)
        from hub.looks.sheet import (
            sheet_of,
        )  # not at the top: it needs all that draws, and no other command does

        picture = sheet_of(drawn, zones)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error
    write_whole({out: picture})


def _venue_of(venue: str | None, hub: str) -> Venue:
    with HubClient(hub) as client:
        return Venue.model_validate_json(client.call("GET", path_of("venues", chosen_venue(client, venue))).content)


def _chosen(identifier: str) -> Look:
    try:
        return look_of(identifier)
    except NotFoundError as error:
        raise CommandError(
            ExitCode.NOT_FOUND, f"there is no look {identifier!r}; use one of {', '.join(looks())}"
        ) from error


def _zones(options: list[str] | None) -> LookZones:
    given: dict[str, str] = {}
    for option in options or ():
        role, equals, zone = option.partition("=")
        if not equals or role in given:
            wrong = f"names the role {role!r} again" if equals else "is not ROLE=ZONE"
            raise CommandError(ExitCode.BAD_INPUT, f"--zone: {option!r} {wrong}; write --zone front=ZONE, a role once")
        given[role] = zone
    try:
        return LookZones.model_validate(given)
    except ValidationError as error:
        mistakes = mistakes_of(error.errors(include_url=False))
        raise CommandError(
            ExitCode.BAD_INPUT, f"--zone: the roles are {', '.join(ROLES)}; `front` is needed", mistakes
        ) from error


def _roles(look: Look) -> str:
    return ", ".join(one.role for one in look.roles)
