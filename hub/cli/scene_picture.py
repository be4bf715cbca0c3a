"""`stringcourse scene picture`: an image file as a layer to paste into a scene. Needs no hub."""

from pathlib import Path
from typing import Annotated

import typer

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.errors import InvalidError
from hub.scenes.image_file import picture_of_file
from hub.statements.table import EXAMPLE_ZONE
from hub.venue_file import write_layers
from node_agent.render.image import MAX_POINTS, MAX_SIDE


def picture(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="PNG, JPEG or WebP.", show_default=False)],
    columns: Annotated[int, typer.Option(min=1, max=MAX_SIDE, metavar="N", help="Points across.")] = 64,
    rows: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=MAX_SIDE,
            metavar="N",
            help=f"Points down; left out, by the image's proportions. At most {MAX_POINTS} points in all.",
        ),
    ] = None,
    zone: Annotated[str, typer.Option(metavar="ZONE", help="Where the layer lies.")] = EXAMPLE_ZONE,
) -> None:
    """Print an image as a layer of a scene, in the YAML of a venue file.

    On the elevation it is stretched over the zone, whatever its proportions; give about as many columns and rows as the
    zone has pixels. What is transparent is black: mask the layer, or lay it with blend add, to keep what lies below.

    Example: stringcourse scene picture sun.png --columns 48 --zone gable >> scene.yaml
    """
    try:
        made = picture_of_file(file, columns, rows)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error
    layer = {"zone": zone, "pattern": made.model_dump(mode="json", exclude_defaults=True)}
    typer.echo(write_layers([layer]), nl=False)
