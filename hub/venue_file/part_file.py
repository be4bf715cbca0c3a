"""A part of a venue in a YAML file of its own: as its contract, or every mistake in it, each with its line."""

import dataclasses
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from pydantic import ValidationError

from hub.errors import InvalidError, Mistake
from hub.validation import mistakes_of
from hub.venue_file.document import Document
from hub.venue_file.reading import read_bytes
from hub.venue_file.yaml_document import parse_yaml
from schemas.bounds import MAX_DESIRED_BYTES
from schemas.contract import Contract

T = TypeVar("T", bound=Contract)
_PART = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class PartFile(Generic[T]):
    """The part, and the file that it was read from."""

    part: T
    document: Document

    def with_lines(self, mistakes: Sequence[Mistake], within: str) -> list[Mistake]:
        """Mistakes that someone else found in the part, whose fields begin with `within`, at their lines here."""
        return [
            _at_its_line(dataclasses.replace(one, field=one.field.removeprefix(within)), self.document)
            for one in mistakes
        ]


def read_part_file(file: Path, contract: type[T], noun: str, shape: str) -> PartFile[T]:
    """The part in a YAML file, by itself: what else the venue has is not known here.

    `shape` says what to write where it is no group of fields. Raises InvalidError whose `mistakes` are all that is
    wrong with it, each with its line.
    """
    data = read_bytes(file)
    if len(data) > MAX_DESIRED_BYTES:
        reason = f"it has more than {MAX_DESIRED_BYTES} bytes"
        raise _invalid(file, noun, [Mistake("file", reason, f"a {noun} of a venue is far smaller: split it")])
    try:
        document = parse_yaml(data)
    except InvalidError as error:
        raise _invalid(file, noun, error.mistakes) from error
    if not isinstance(document.value, dict):
        raise _invalid(file, noun, [Mistake("file", "it is not a group of fields", shape, document.line_of(()))])
    mistakes = list(document.mistakes)
    try:
        part = contract.model_validate_json(json.dumps(document.value))
    except ValidationError as error:
        found = mistakes_of(error.errors(include_url=False), contract, document.value)
        mistakes += [_at_its_line(one, document) for one in found]
        raise _invalid(file, noun, mistakes) from error
    if mistakes:
        raise _invalid(file, noun, mistakes)
    return PartFile(part, document)


def _at_its_line(mistake: Mistake, document: Document) -> Mistake:
    where = tuple(name or int(number) for name, number in _PART.findall(mistake.field))
    return dataclasses.replace(mistake, line=document.line_of(where))


def _invalid(file: Path, noun: str, mistakes: Sequence[Mistake]) -> InvalidError:
    ordered = sorted(dict.fromkeys(mistakes), key=lambda mistake: mistake.line or 0)
    count = len(ordered)
    return InvalidError(f"{file}: the {noun} has {count} mistake{'' if count == 1 else 's'}", ordered)
