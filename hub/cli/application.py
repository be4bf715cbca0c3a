"""The application `stringcourse`: its commands; turns errors into words and exit codes."""

import importlib
import sys
from collections.abc import Iterable
from types import MappingProxyType
from typing import Final

import typer

from hub.cli.command_error import CommandError
from hub.cli.exit_code import MEANINGS, ExitCode
from hub.cli.printing import complain, print_mistakes

# One line a command: its name, and the module in hub.cli with a `group` of commands, or with the function that it is.
COMMANDS: Final = MappingProxyType(
    {
        "up": "up:up",
        "rehearse": "rehearse:rehearse",
        "venue": "venue",
        "zone": "zone",
        "node": "node",
        "finding": "finding",
        "fault": "fault",
        "notify": "notify",
        "scene": "scene",
        "pattern": "pattern",
        "look": "look",
        "rollout": "rollout",
        "cue": "cue",
        "go": "controls:go",
        "back": "controls:back",
        "blackout": "controls:blackout",
        "work-light": "controls:work_light",
        "follow-timetable": "controls:follow_timetable",
        "timetable": "timetable",
        "budget": "budget",
        "audit": "audit:audit",
        "wiring": "wiring:wiring",
        "pixel-type": "pixel_type",
        "advice": "advice",
        "energy": "energy:energy",
        "history": "history:history",
        "token": "token",
    }
)
_EXIT_CODES = "\n\n".join(f"{code.value}: {meaning}" for code, meaning in MEANINGS.items())


def application(names: Iterable[str] = COMMANDS) -> typer.Typer:
    """The application with the commands of `names`. Each needs imports of its own: `up` alone has half the hub's."""
    app = typer.Typer(
        name="stringcourse",
        help="Run a venue of networked lighting nodes: its inventory, scenes, budgets and findings.",
        epilog=f"Exit codes.\n\n{_EXIT_CODES}",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
    )

    @app.callback()
    def _stringcourse() -> None:
        # With a callback Typer keeps a command a subcommand though it is the only one.
        pass

    for name in names:
        place, _, function = COMMANDS[name].partition(":")
        module = importlib.import_module(f"hub.cli.{place}")
        if function:
            app.command(name)(getattr(module, function))
        else:
            app.add_typer(module.group, name=name)
    return app


def main() -> None:
    """Console script `stringcourse`. Imports only what the command on the line needs; all of them to list them."""
    named = sys.argv[1:2]
    try:
        application(named if named and named[0] in COMMANDS else COMMANDS)()
    except CommandError as error:
        complain(error.detail)
        if error.mistakes:
            print_mistakes(error.mistakes)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.exit(ExitCode.NO)
