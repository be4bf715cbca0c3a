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

# One line a command: its name, and the module in hub.cli with a `group` of commands or a function of that name.
COMMANDS: Final = MappingProxyType(
    {
        "up": "up",
        "rehearse": "rehearse",
        "venue": "venue",
        "zone": "zone",
        "node": "node",
        "finding": "finding",
        "scene": "scene",
        "pattern": "pattern",
        "look": "look",
        "rollout": "rollout",
        "budget": "budget",
        "audit": "audit",
        "wiring": "wiring",
        "pixel-type": "pixel_type",
        "advice": "advice",
        "energy": "energy",
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
        module = importlib.import_module(f"hub.cli.{COMMANDS[name]}")
        if hasattr(module, "group"):
            app.add_typer(module.group, name=name)
        else:
            app.command(name)(getattr(module, COMMANDS[name]))
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
