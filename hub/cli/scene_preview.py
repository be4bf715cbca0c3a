"""`stringcourse scene preview`: a scene seen before it is taken, in figures, as pictures, running in the terminal."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer
from rich.console import Console

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import STANDARD_OUTPUT, Force, check_free, write_whole
from hub.cli.printing import print_json
from hub.cli.scene_figures import print_preview
from hub.errors import InvalidError

if TYPE_CHECKING:
    from hub.venue_file.scene_file import SceneFile

LONGEST_S: Final = 120.0
"""A large animation takes the hub some seconds, and waits for the one before it."""

SceneId = Annotated[
    str | None, typer.Argument(metavar="SCENE", help="Id of the scene; or give --file.", show_default=False)
]
DraftFile = Annotated[
    Path | None,
    typer.Option(
        "--file", metavar="FILE", help="A scene that the venue does not hold yet: YAML, as it stands below `scenes:`."
    ),
]
Png = Annotated[Path | None, typer.Option("--png", metavar="FILE", help="Write the front at some show times as PNG.")]
Gif = Annotated[
    Path | None, typer.Option("--gif", metavar="FILE", help="Write the scene as it runs as GIF, in a loop.")
]
Webp = Annotated[Path | None, typer.Option("--webp", metavar="FILE", help="The same as WebP: full colour, smaller.")]
Width = Annotated[int, typer.Option("--width", min=160, max=1_600, metavar="PX", help="Width of the pictures.")]
Seconds = Annotated[
    float | None,
    typer.Option(
        "--seconds",
        min=0.1,
        metavar="S",
        help="How long to play; or how much of a longer period a GIF or WebP shows, 60 at most.",
    ),
]
Play = Annotated[bool, typer.Option("--play", help="Run the scene in the terminal until Ctrl-C, or for --seconds.")]


def preview(
    scene: SceneId = None,
    file: DraftFile = None,
    png: Png = None,
    gif: Gif = None,
    webp: Webp = None,
    width: Width = 640,
    seconds: Seconds = None,
    play: Play = False,
    force: Force = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """See a scene before it goes anywhere: its colours, its amps against budgets, when the limiter acts.

    Each row is a zone in the order of its pixels, as the nodes would show it after the budget limiter.

    Bars are the amps asked for over the scene's period; a whole bar is the budget, or the highest where that is more.

    A GIF or WebP runs in a loop without a jump where the scene's period fits. With a FILE to write nothing is printed.

    Examples: stringcourse scene preview evening; stringcourse scene preview evening --play

    stringcourse scene preview --file draft.yaml --png draft.png --webp draft.webp --seconds 12
    """
    if (scene is None) == (file is None):
        raise CommandError(
            ExitCode.BAD_INPUT, "name a scene, or a FILE with --file; `stringcourse scene list` lists the scenes"
        )
    pictures = {ending: one for ending, one in {"png": png, "gif": gif, "webp": webp}.items() if one is not None}
    _check(pictures, play=play, as_json=as_json, force=force)
    draft = None if file is None else _read(file)
    if play:
        _play(scene, draft, seconds, venue, hub)
        return
    with HubClient(hub) as client, _lines_of(draft, file):
        path = path_of("venues", chosen_venue(client, venue))
        if pictures:
            write_whole(
                {
                    target: _picture(client, path, scene, draft, ending, width, seconds)
                    for ending, target in pictures.items()
                }
            )
            return
        answer = _called(client, path, scene, draft, "", None).json()
    if as_json:
        print_json(answer)
    else:
        print_preview(answer)


def _play(scene: str | None, draft: "SceneFile | None", seconds: float | None, venue: str | None, hub: str) -> None:
    console = Console(highlight=False)
    if not console.is_terminal or console.color_system is None:
        raise CommandError(
            ExitCode.BAD_INPUT,
            "--play draws in a terminal with colours, which standard output is not; write a --gif or --webp instead",
        )
    from hub.cli.scene_play import play  # drawing needs packages that the rest does not

    with HubClient(hub) as client, _lines_of(draft, None):
        chosen = chosen_venue(client, venue)
        if draft is not None:
            document = draft.part.model_dump(mode="json")
        else:
            document = client.get(path_of("venues", chosen, "scenes", str(scene)))
        play(client, console, chosen, document, seconds)


def _picture(
    client: HubClient,
    path: str,
    scene: str | None,
    draft: "SceneFile | None",
    ending: str,
    width: int,
    seconds: float | None,
) -> bytes:
    query: dict[str, Any] = {"width_px": width}
    if ending != "png":
        query["seconds"] = None if seconds is None else min(seconds, 60.0)
    return bytes(_called(client, path, scene, draft, f".{ending}", query).content)


def _called(
    client: HubClient,
    path: str,
    scene: str | None,
    draft: "SceneFile | None",
    ending: str,
    query: dict[str, Any] | None,
) -> Any:  # noqa: ANN401 (an answer of httpx)
    if draft is None:
        where = f"{path}{path_of('scenes', str(scene))}/preview{ending}"
        return client.call("GET", where, query=query, timeout_s=LONGEST_S)
    document = draft.part.model_dump(mode="json")
    return client.call("POST", f"{path}/previews{ending}", query=query, json=document, timeout_s=LONGEST_S)


def _check(pictures: dict[str, Path], *, play: bool, as_json: bool, force: bool) -> None:
    if as_json + play + bool(pictures) > 1:
        raise CommandError(
            ExitCode.BAD_INPUT, "--json prints, --play draws in the terminal, a FILE is written: choose one of them"
        )
    if len(set(pictures.values())) < len(pictures):
        raise CommandError(ExitCode.BAD_INPUT, "two pictures would go to one FILE: name one for each")
    for target in pictures.values():
        if target == STANDARD_OUTPUT:
            raise CommandError(ExitCode.BAD_INPUT, "a picture goes to a file and not to standard output: name one")
        check_free(target, force=force)


def _read(file: Path) -> "SceneFile":
    from hub.venue_file.scene_file import read_scene_file  # all patterns, which `scene list` has no need of

    try:
        return read_scene_file(file)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error


@contextmanager
def _lines_of(draft: "SceneFile | None", file: Path | None) -> Iterator[None]:
    """What the hub finds in a draft is told with its lines in the file."""
    try:
        yield
    except CommandError as error:
        if draft is None or not error.mistakes:
            raise
        detail = error.detail if file is None else f"{file}: {error.detail}"
        raise CommandError(error.exit_code, detail, draft.with_lines(error.mistakes, "body.")) from error
