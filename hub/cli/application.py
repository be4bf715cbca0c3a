"""The application `stringcourse`: registers the command groups; turns errors into words and exit codes."""

import sys

import typer

from hub.cli import audit, finding, node, rehearse, rollout, scene, token, up, venue
from hub.cli.command_error import CommandError
from hub.cli.exit_code import MEANINGS, ExitCode
from hub.cli.printing import complain, print_mistakes

_EXIT_CODES = "\n\n".join(f"{code.value}: {meaning}" for code, meaning in MEANINGS.items())

app = typer.Typer(
    name="stringcourse",
    help="Run a venue of networked lighting nodes: its inventory, scenes, budgets and findings.",
    epilog=f"Exit codes.\n\n{_EXIT_CODES}",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
# One line a group: app.add_typer(GROUP, name="...") or app.command("...")(COMMAND)
app.command("up")(up.up)
app.command("rehearse")(rehearse.rehearse)
app.add_typer(venue.group, name="venue")
app.add_typer(node.group, name="node")
app.add_typer(finding.group, name="finding")
app.add_typer(scene.group, name="scene")
app.add_typer(rollout.group, name="rollout")
app.command("audit")(audit.audit)
app.add_typer(token.group, name="token")


def main() -> None:
    """Console script `stringcourse`."""
    try:
        app()
    except CommandError as error:
        complain(error.detail)
        if error.mistakes:
            print_mistakes(error.mistakes)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.exit(ExitCode.NO)
