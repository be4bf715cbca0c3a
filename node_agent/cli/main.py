"""The entry point: a table of subcommands, each in a file of its own that parses its options and calls."""

import argparse
import sys
from collections.abc import Sequence
from typing import Final, Protocol

from node_agent.cli import capture_command, start_command, try_command

_EPILOG: Final = """\
start with no broker at all:
  stringcourse-node try --pixels 30 --capture /tmp/first-run.capture

  `stringcourse-node COMMAND --help` explains a command, with an example."""


class Command(Protocol):
    """What the module of a subcommand offers: `add` declares its options and sets `run` to what carries it out."""

    def add(self, commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None: ...


_COMMANDS: Final[tuple[Command, ...]] = (try_command, start_command, capture_command)


def build_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stringcourse-node",
        description="Lights the pixel runs of one board.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command in _COMMANDS:
        command.add(commands)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command; the exit code is 0 for success, 1 for a failure while running, 2 for a wrong command line."""
    options = build_parser().parse_args(sys.argv[1:] if arguments is None else arguments)
    code: int = options.run(options)
    return code
