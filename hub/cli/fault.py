"""`stringcourse fault`: guided fault finding, question by question, with test patterns on the very node."""

import sys
from typing import Annotated, Any, Final

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.fault_printing import say_head, say_hub_answers, say_search, say_standing
from hub.cli.printing import print_json, print_table, say
from hub.cli.times import local_time
from hub.fault_finding.symptom import Symptom

group = typer.Typer(
    help="Guided fault finding: from what you see at a run to what is wrong and what to carry up the ladder.",
    no_args_is_help=True,
)

KEYS: Final = "number or answer, with a note behind a colon if you like; b back, p pattern again, q leave it open"
END_KEYS: Final = "m mended, n not mended, not-it if that was not it, b back, q leave it open"

SearchId = Annotated[int, typer.Argument(metavar="ID", min=1, help="Number of the search; `fault list` lists them.")]
Answers = Annotated[
    list[str] | None,
    typer.Option(
        "--answer",
        metavar="ANSWER[: NOTE]",
        help="Answer the next question with this; again for the one after. Numbers do too.",
    ),
]


@group.command()
def find(
    node: Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)],
    channel: Annotated[
        int | None, typer.Option(min=1, max=4, help="The run's data output, as on the wiring sheet; else it is asked.")
    ] = None,
    symptom: Annotated[Symptom | None, typer.Option(help="What is seen; else it is asked.")] = None,
    answer: Answers = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Search for a fault of a node, question by question. What the hub knows it answers by itself.

    Cautions come first: read them. Without a terminal, only what --answer says is answered. Exits 1 while there is no
    diagnosis. The search stays with the hub: `fault resume` goes on with it.

    Example: stringcourse fault find bay-01 --channel 1 --symptom cut-off --answer "part: the last is pixel 40"
    """
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "fault-findings")
        wanted = {"node": node, "channel": channel, "symptom": symptom and symptom.value}
        search = client.call("POST", path, json=wanted).json()
        _go_on(client, path, search, answer or [], as_json=as_json)


@group.command()
def resume(
    search: SearchId,
    answer: Answers = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Go on with a search where it stands. Exits 1 while there is no diagnosis."""
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "fault-findings")
        _go_on(client, path, client.get(path + path_of(str(search))), answer or [], as_json=as_json)


@group.command("list")
def list_searches(
    node: Annotated[str | None, typer.Option(metavar="NODE", help="Only this node's.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Those that ended, too.")] = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """List searches for faults, newest first."""
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "fault-findings")
        searches = client.every(path, node=node, ended=None if every else False)
    if as_json:
        print_json(searches)
    elif not searches:
        say("no searches" if every else "no open searches")
    else:
        rows = [
            (one["id"], local_time(one["begun_at_ms"]), one["node"], one["channel"], one["state"], one["title"])
            for one in searches
        ]
        print_table(("search", "begun", "node", "channel", "state", "what is seen, or what it is"), rows)


@group.command()
def show(search: SearchId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Show one search with every answer."""
    with HubClient(hub) as client:
        found = client.get(path_of("venues", chosen_venue(client, venue), "fault-findings", str(search)))
    if as_json:
        print_json(found)
    else:
        say_search(found)


@group.command()
def end(
    search: SearchId,
    mended: Annotated[bool | None, typer.Option("--mended/--not-mended", help="Whether the fault is gone.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="What it was, for whoever comes next.")] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """End a search and say how it went."""
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "fault-findings", str(search), "end")
        ended = client.call("POST", path, json={"mended": mended, "note": note}).json()
    if as_json:
        print_json(ended)
    else:
        say_search(ended)


def _go_on(client: HubClient, path: str, search: dict[str, Any], answers: list[str], *, as_json: bool) -> None:
    """Give the answers named, then those of the person at the terminal."""
    path += path_of(search["id"])
    if not as_json:
        say_head(search)
        say_hub_answers(search, 0)
    for given in answers:
        if not as_json:
            say_standing(search)
        search = _answered(client, path, search, given, as_json=as_json)
    asks_person = sys.stdin.isatty() and not as_json
    while True:
        if not as_json:
            say_standing(search)
        if not asks_person or search["state"] == "ended" or search["stuck"] is not None:
            break
        before = search
        search = _next(client, path, search)
        if search is before:
            break
    if as_json:
        print_json(search)
    elif search["state"] != "ended":
        say(f"`stringcourse fault resume {search['id']}` goes on, `stringcourse fault end {search['id']}` ends it")
    sys.stdout.flush()
    if search["diagnosis"] is None:
        raise typer.Exit(ExitCode.NO)


def _next(client: HubClient, path: str, search: dict[str, Any]) -> dict[str, Any]:
    """One word of the person at the terminal; the same search where they leave it open."""
    while True:
        try:
            typed = typer.prompt(KEYS if search["question"] else END_KEYS).strip()
        except typer.Abort:
            return search
        if typed == "q":
            return search
        try:
            if typed == "b":
                return _call(client, path, "back")
            if typed == "p":
                return _call(client, path, "pattern")
            if typed in ("m", "n") and search["diagnosis"] is not None:
                return _call(client, path, "end", {"mended": typed == "m", "note": None})
            return _answered(client, path, search, typed, as_json=False)
        except CommandError as error:
            if error.exit_code not in (ExitCode.BAD_INPUT, ExitCode.CONFLICT, ExitCode.NOT_REACHABLE):
                raise
            say(error.detail)
            for mistake in error.mistakes:
                say(f"  {mistake.reason}: {mistake.remedy}")


def _answered(client: HubClient, path: str, search: dict[str, Any], given: str, *, as_json: bool) -> dict[str, Any]:
    word, _, note = (part.strip() for part in given.partition(":"))
    standing = search["question"] or search["diagnosis"]
    if standing is None:
        raise CommandError(ExitCode.CONFLICT, "the search has ended; begin another")
    choices = standing["choices"]
    if word.isascii() and word.isdecimal() and standing["step"] != "which-channel":
        place = int(word) - 1
        if not 0 <= place < len(choices):
            raise CommandError(ExitCode.BAD_INPUT, f"there is no answer {word}; there are {len(choices)}")
        word = choices[place]["answer"]
    body = {"step": standing["step"], "answer": word, "note": note or None}
    answered = _call(client, path, "answers", body)
    if not as_json:
        say_hub_answers(answered, len(search["steps"]))
    return answered


def _call(client: HubClient, path: str, step: str, body: dict[str, Any] | None = None) -> dict[str, Any]:
    search: dict[str, Any] = client.call("POST", path + path_of(step), json=body).json()
    return search
