"""Files that commands write: whole or not at all, and never over one that is there without being told to."""

import contextlib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Final

import typer

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import complain

STANDARD_OUTPUT: Final = Path("-")

Force = Annotated[bool, typer.Option("--force", help="Write over FILE where it exists.")]


def check_free(file: Path, *, force: bool) -> None:
    """Raises CommandError where `file` exists and may not be written over, or its folder is not there."""
    if file == STANDARD_OUTPUT:
        return
    if file.is_dir() or not file.absolute().parent.is_dir():
        raise CommandError(
            ExitCode.BAD_INPUT, f"{file} cannot be written: make its folder first, and name a file in it"
        )
    if file.exists() and not force:
        raise CommandError(ExitCode.BAD_INPUT, f"{file} exists; name another file, or add --force to write over it")


def write_whole(contents: Mapping[Path, bytes]) -> None:
    """Write each file, saying so; a file that was there before stays until its new content is all on disk."""
    for file, content in contents.items():
        if file == STANDARD_OUTPUT:
            typer.echo(content, nl=False)
            continue
        part = file.with_name(f".{file.name}.part")
        try:
            part.write_bytes(content)
            part.replace(file)
        except OSError as error:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
            raise CommandError(ExitCode.BAD_INPUT, f"{file} cannot be written: {error.strerror}") from error
        complain(f"wrote {file}")
