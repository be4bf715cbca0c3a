"""`stringcourse audit`: what supplies, wires and fuses are worth, in figures and words, as documents and tables."""

from pathlib import Path
from typing import Annotated, Any, Final

import typer

from hub.cli.audit_printing import print_audit, print_supply, supply_alone
from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import STANDARD_OUTPUT, Force, check_free, write_whole
from hub.cli.printing import print_json

LONGEST_S: Final = 180.0
"""A PDF takes the hub seconds to minutes, and waits for the one before it."""


def _file(option: str, words: str) -> Any:  # noqa: ANN401 (as Typer's own)
    return typer.Option(option, metavar="FILE", help=words)


OneSupply = Annotated[
    str | None, typer.Option("--supply", metavar="ID", help="One supply with its runs and feeds, not the whole venue.")
]
Csv = Annotated[Path | None, _file("--csv", "Write a line for each supply as CSV; - for standard output.")]
FeedsCsv = Annotated[Path | None, _file("--feeds-csv", "Write a line for each feed as CSV; - for standard output.")]
Html = Annotated[Path | None, _file("--html", "Write the document, to read in a browser or to print.")]
Pdf = Annotated[Path | None, _file("--pdf", "Write the document as PDF, A4, to sign. Takes some seconds.")]


def audit(
    venue: VenueOption = None,
    supply: OneSupply = None,
    csv: Csv = None,
    feeds_csv: FeedsCsv = None,
    html: Html = None,
    pdf: Pdf = None,
    force: Force = False,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Audit a venue's supplies and wiring: figures, verdicts with their reasons, and what to see to, with remedies.

    Worst case: every emitter full. Scene peak: the highest instant of the scene in force, before the limiter.

    Typical: the trade's rule of thumb. The three are estimates, never mixed up; what boards told stands beside them.

    Within: every emitter may be full. Only under budget: safe because the nodes keep to it on every frame.

    OVERLOADED: the typical draw, or the dark pixels alone, exceed the budget.

    With a FILE nothing is printed. CSV: an empty cell is a figure that is not known, and text that a spreadsheet
    would take for a formula begins with an apostrophe.

    Examples: stringcourse audit; stringcourse audit --supply bay-01-5v; stringcourse audit --pdf audit.pdf
    """
    wanted = {"audit.csv": csv, "audit-feeds.csv": feeds_csv, "audit.html": html, "audit.pdf": pdf}
    files = {document: file for document, file in wanted.items() if file is not None}
    _check(files, supply, as_json=as_json, force=force)
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue))
        if files:
            query = {"supply": supply}
            write_whole(
                {
                    file: client.call("GET", f"{path}/{document}", query=query, timeout_s=LONGEST_S).content
                    for document, file in files.items()
                }
            )
            return
        answer = client.get(f"{path}/audit")
    if supply is not None:
        answer = supply_alone(answer, supply)
    if as_json:
        print_json(answer)
    elif supply is not None:
        print_supply(answer)
    else:
        print_audit(answer)


def _check(files: dict[str, Path], supply: str | None, *, as_json: bool, force: bool) -> None:
    if files and as_json:
        raise CommandError(ExitCode.BAD_INPUT, "--json prints, a FILE is written: leave one out")
    if len(set(files.values())) < len(files):
        raise CommandError(ExitCode.BAD_INPUT, "two documents would go to one FILE: name one for each")
    if supply is not None and any(document.endswith(".csv") for document in files):
        raise CommandError(ExitCode.BAD_INPUT, "--supply: the CSV holds all supplies; leave --supply out")
    for document, file in files.items():
        if file == STANDARD_OUTPUT and not document.endswith(".csv"):
            raise CommandError(ExitCode.BAD_INPUT, f"{document} goes to a file and not to standard output: name one")
        check_free(file, force=force)
