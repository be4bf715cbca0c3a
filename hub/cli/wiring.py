"""`stringcourse wiring`: the wiring sheets, as files to print."""

import io
from pathlib import Path
from typing import Annotated, Final

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import Force, check_free, write_whole
from hub.cli.printing import complain

KINDS: Final = (".svg", ".html", ".pdf")
SHEETS_IN_A_PART: Final = 20
"""The hub makes no more in one PDF."""


def wiring(
    node: Annotated[str | None, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="File to write; its ending says the form: .pdf, .html or .svg."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="The sheets of all nodes in one file.")] = False,
    force: Force = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Write the wiring sheet of a node, or of all, to hang inside the door.

    Drawing in front: pins, level shifters, runs, feeds, fuses, supplies, common ground. On the back: tables, cautions,
    commissioning steps, room for measured volts. .pdf and .html print on A4; .svg is the drawing of one node alone.

    Examples: stringcourse wiring bay-01 --out bay-01.pdf; stringcourse wiring --all --out sheets.pdf
    """
    file, kind = _destination(out, force=force)
    if (node is None) != every:
        raise CommandError(ExitCode.BAD_INPUT, "name one node, or add --all for the sheets of all")
    if every and kind == ".svg":
        raise CommandError(ExitCode.BAD_INPUT, "an .svg holds the drawing of one node: name it, or write .pdf or .html")
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        if node is not None:
            path = path_of("venues", chosen, "nodes", node, f"wiring-sheet{kind}")
            content = client.call("GET", path).content
        elif kind == ".html":
            content = client.call("GET", path_of("venues", chosen, "wiring-sheets.html")).content
        else:
            content = _whole_pdf(client, chosen)
    write_whole({file: content})


def _destination(out: Path | None, *, force: bool) -> tuple[Path, str]:
    if out is None:
        raise CommandError(ExitCode.BAD_INPUT, "--out is missing: name the file to write, such as --out sheet.pdf")
    kind = out.suffix.lower()
    if kind not in KINDS:
        raise CommandError(ExitCode.BAD_INPUT, f"--out: {out.name} ends in none of {', '.join(KINDS)}; name it so")
    check_free(out, force=force)
    return out, kind


def _whole_pdf(client: HubClient, venue: str) -> bytes:
    """All sheets in one PDF, fetched in the parts that the hub makes."""
    from pypdf import PdfWriter  # not at the top: only a venue's PDF needs it

    path = path_of("venues", venue, "wiring-sheets.pdf")
    nodes = len(client.every(path_of("venues", venue, "nodes")))
    if nodes <= SHEETS_IN_A_PART:
        return client.call("GET", path).content
    whole = PdfWriter()
    for first in range(1, nodes + 1, SHEETS_IN_A_PART):
        complain(f"sheets {first} to {min(first + SHEETS_IN_A_PART - 1, nodes)} of {nodes}")
        part = client.call("GET", path, query={"first": first, "count": SHEETS_IN_A_PART}).content
        whole.append(io.BytesIO(part))
    whole.compress_identical_objects()
    written = io.BytesIO()
    whole.write(written)
    return written.getvalue()
