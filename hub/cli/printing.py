"""What commands print: tables for people, JSON for programs. Nothing printed can steer the terminal."""

import json
import sys
import unicodedata
from collections.abc import Sequence

from pydantic import BaseModel
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hub.errors import Mistake


def printable(value: object) -> str:
    """`value` as one line of text without characters that move a cursor, change colours or reverse the text.

    Control, format and separator characters other than the space appear as escapes; None is a dash.
    """
    text = "–" if value is None else str(value)
    return "".join(
        character if character == " " or unicodedata.category(character)[0] not in "CZ" else ascii(character)[1:-1]
        for character in text
    )


def say(*words: object) -> None:
    """One line for a person, on standard output."""
    sys.stdout.write(" ".join(printable(word) for word in words) + "\n")


def complain(line: object) -> None:
    """One line on standard error."""
    sys.stderr.write(printable(line) + "\n")


def print_json(value: object) -> None:
    """One JSON document, on standard output, in ASCII, so that no terminal can be steered by it."""
    plain = value.model_dump(mode="json") if isinstance(value, BaseModel) else value
    sys.stdout.write(json.dumps(plain, indent=2) + "\n")


def print_table(columns: Sequence[str], rows: Sequence[Sequence[object]], *, error: bool = False) -> None:
    """A table for people. A column whose values are all numbers stands to the right."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, column in enumerate(columns):
        numeric = bool(rows) and all(isinstance(row[place], (int, float)) or row[place] is None for row in rows)
        table.add_column(Text(printable(column)), justify="right" if numeric else "left", overflow="fold")
    for row in rows:
        table.add_row(*(Text(printable(value)) for value in row))
    # Off a terminal (a pipe, a log) nothing may be folded away for want of width.
    console = Console(stderr=error, highlight=False)
    if not console.is_terminal:
        console = Console(stderr=error, highlight=False, width=400)
    console.print(table)


def print_mistakes(mistakes: Sequence[Mistake], *, error: bool = True) -> None:
    """The mistakes of an input: line where there is one, field, reason, remedy."""
    if any(mistake.line is not None for mistake in mistakes):
        rows = [(mistake.line, mistake.field, mistake.reason, mistake.remedy) for mistake in mistakes]
        print_table(("line", "field", "what is wrong", "what to do"), rows, error=error)
    else:
        plain = [(mistake.field, mistake.reason, mistake.remedy) for mistake in mistakes]
        print_table(("field", "what is wrong", "what to do"), plain, error=error)
