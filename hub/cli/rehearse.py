"""`stringcourse rehearse`: a whole venue on this machine, one real agent process for each of its nodes."""

import signal
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain, say
from hub.errors import InvalidError, UnavailableError
from hub.rehearsal.check import Proof, prove, prove_stopped
from hub.rehearsal.processes import ChildFailedError
from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file import read_venue_file


def rehearse(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The venue file, such as deploy/demo/arcade.yaml.")],
    data: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder to keep between rehearsals; without it, nothing is kept.")
    ] = None,
    slow_board: Annotated[
        str | None,
        typer.Option(metavar="NODE", help="Give this node a board that is too slow for scenes of many layers."),
    ] = None,
    check: Annotated[
        bool,
        typer.Option("--check", help="Prove what the product promises, line by line, and stop; exits 1 if any fails."),
    ] = False,
) -> None:
    """Run a venue without its hardware: the hub, its broker, and an agent for each board writing to capture files.

    Runs until Ctrl-C, which stops every process that it started.

    Example: stringcourse rehearse deploy/demo/arcade.yaml --data rehearsal
    """
    try:
        venue = read_venue_file(file)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error
    if slow_board is not None and slow_board not in {node.id for node in venue.nodes}:
        raise CommandError(
            ExitCode.BAD_INPUT, f"--slow-board: the venue has no node {slow_board!r}; name one of its nodes"
        )
    # Also where a shell started it in the background with Ctrl-C's signal ignored.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _interrupt)
    with ExitStack() as stack:
        folder = data or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="stringcourse-")))
        try:
            rehearsal = Rehearsal(
                venue, file, folder.absolute(), slow_board=slow_board, say=_progress, keeps_hours=not check
            )
        except UnavailableError as error:
            raise CommandError(ExitCode.NOT_REACHABLE, error.detail) from error
        stack.callback(_stop, rehearsal)
        began = time.monotonic()
        try:
            rehearsal.start()
            started_in_s = time.monotonic() - began
            if check:
                _check(rehearsal, started_in_s)
            _welcome(rehearsal, started_in_s)
            _watch(rehearsal)
        except ChildFailedError as error:
            for line in str(error).splitlines():
                complain(line)
            raise CommandError(
                ExitCode.HUB_FAILED, f"the rehearsal failed; its logs are in {folder / 'logs'}"
            ) from error
        except KeyboardInterrupt:
            _progress("stopping every process")


def _check(rehearsal: Rehearsal, started_in_s: float) -> NoReturn:
    proofs = []
    for proof in prove(rehearsal, started_in_s):
        _print_proof(proof)
        proofs.append(proof)
    proofs.append(prove_stopped(rehearsal))
    _print_proof(proofs[-1])
    failed = sum(not proof.held for proof in proofs)
    say(f"{len(proofs) - failed} of {len(proofs)} promises held")
    raise typer.Exit(ExitCode.NO if failed else ExitCode.OK)


def _print_proof(proof: Proof) -> None:
    say(f"{'held  ' if proof.held else 'FAILED'}  {proof.promise}")
    say(f"        {proof.figures}")


def _welcome(rehearsal: Rehearsal, started_in_s: float) -> None:
    scenes = ", ".join(scene.id for scene in rehearsal.venue.scenes)
    victim = next(iter(rehearsal.boards.values()))
    lines = [
        "",
        f"{rehearsal.venue.title} is running: {len(rehearsal.boards)} boards, up in {started_in_s:.1f} s.",
        "",
        f"  The page:  {rehearsal.address}/#token={rehearsal.token}",
        "",
        "  In another terminal:",
        f"    export STRINGCOURSE_HUB={rehearsal.address} STRINGCOURSE_TOKEN={rehearsal.token}",
        f"    {_program()} node list",
        f"    {_program()} scene take SCENE        # {scenes}",
        f"    {_program()} audit",
        f"    kill -9 {victim.pid}      # {victim.name} dies; then: {_program()} finding list",
        "",
        "  Ctrl-C stops everything.",
    ]
    for line in lines:
        say(line)


def _watch(rehearsal: Rehearsal) -> None:
    """Until Ctrl-C: says when a board's process ends, and how to start it again; the hub's own end is an error."""
    told: set[int] = set()
    while rehearsal.hub.running:
        for board in rehearsal.boards.values():
            if not board.running and board.pid not in told:
                told.add(board.pid)
                _progress(f"{board.name} has ended; start it again in another terminal:\n  {board.command_line}")
        time.sleep(0.5)
    raise ChildFailedError(f"the hub has ended by itself\n{rehearsal.hub.last_words()}")


def _stop(rehearsal: Rehearsal) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    rehearsal.stop()


def _interrupt(_number: int, _frame: object) -> None:
    raise KeyboardInterrupt


def _progress(line: str) -> None:
    print(f"stringcourse: {line}", file=sys.stderr, flush=True)


def _program() -> Path:
    return Path(sys.executable).parent / "stringcourse"
