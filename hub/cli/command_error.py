"""An error that ends a command: what happened, which field, what to do, and the exit code."""

from collections.abc import Sequence

from hub.cli.exit_code import ExitCode
from hub.errors import Mistake


class CommandError(Exception):
    """Raised anywhere below a command; `main` prints it to standard error and exits with its code."""

    def __init__(self, exit_code: ExitCode, detail: str, mistakes: Sequence[Mistake] = ()) -> None:
        super().__init__(detail)
        self.exit_code = exit_code
        self.detail = detail
        self.mistakes = tuple(mistakes)
