"""Times and lengths of time as people write them on a command line, and as commands print them."""

import re
from datetime import datetime
from typing import Final

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode

UNITS_MS: Final = {"m": 60_000, "h": 3_600_000, "d": 86_400_000}


def moment_ms(option: str, words: str) -> int:
    """A date and time, ms since the epoch; without a zone it is this machine's local time. Raises CommandError."""
    try:
        return round(datetime.fromisoformat(words).timestamp() * 1_000)
    except (ValueError, OverflowError, OSError) as error:
        remedy = "give date and time, such as 2026-11-28T18:00, or with a zone 2026-11-28T18:00+01:00"
        raise CommandError(ExitCode.BAD_INPUT, f"{option}: {words!r} is no time; {remedy}") from error


def length_ms(option: str, words: str) -> int:
    """A length of time such as 90m, 12h or 7d, ms. Raises CommandError."""
    match = re.fullmatch(r"([1-9][0-9]{0,4})([mhd])", words)
    if match is None:
        remedy = "write minutes, hours or days, such as 90m, 12h or 7d"
        raise CommandError(ExitCode.BAD_INPUT, f"{option}: {words!r} is no length of time; {remedy}")
    return int(match[1]) * UNITS_MS[match[2]]


def local_time(at_ms: int | None) -> str | None:
    """On this machine's clock."""
    return None if at_ms is None else datetime.fromtimestamp(at_ms / 1_000).astimezone().strftime("%Y-%m-%d %H:%M:%S")
