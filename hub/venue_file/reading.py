"""A venue file (YAML or JSON) to a checked `Venue`, or every mistake in it at once, each with its line."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from pydantic import ValidationError
from pydantic_core import ErrorDetails

import node_agent.render  # noqa: F401 (loads every pattern)
from hub.errors import InvalidError, Mistake
from hub.nearest import Nearest
from hub.statements.parameter import is_colour
from hub.statements.stated import StatedFields, stated_fields
from hub.validation import Told, as_written, field_name, own_errors
from hub.venue_file.checking import find_faults
from hub.venue_file.document import Document
from hub.venue_file.fault import Where
from hub.venue_file.json_document import parse_json
from hub.venue_file.long_lists import cut_long_lists
from hub.venue_file.repairing import Repair
from hub.venue_file.yaml_document import parse_yaml
from schemas.bounds import MAX_VENUE_FILE_BYTES
from schemas.venue import Venue

MOST_ROUNDS = 4
MOST_TOLD = 2_000


def read_bytes(file: Path) -> bytes:
    """The bytes of a venue file, one more than allowed at most. Raises InvalidError where it cannot be read."""
    try:
        with file.open("rb") as stream:
            # Bounded while reading: some files never end.
            return stream.read(MAX_VENUE_FILE_BYTES + 1)
    except OSError as error:
        reason = f"it cannot be read: {error.strerror}"
        raise InvalidError(
            f"{file} cannot be read", [Mistake("file", reason, "name a file that can be read")]
        ) from error


def read_venue_file(file: Path) -> Venue:
    """The venue in a YAML file. Raises InvalidError as `read_venue` does, with the file's name in its detail."""
    try:
        return read_venue(read_bytes(file))
    except InvalidError as error:
        if str(file) in error.detail:
            raise
        raise InvalidError(f"{file}: {error.detail}", error.mistakes) from error


def read_venue(data: bytes, *, is_json: bool = False) -> Venue:
    """The venue in a file of YAML 1.2, or of JSON.

    Raises InvalidError whose `mistakes` are all that is wrong with it, MOST_TOLD at most, ordered by line; JSON has no
    lines.
    """
    if len(data) > MAX_VENUE_FILE_BYTES:
        reason = f"it has more than {MAX_VENUE_FILE_BYTES} bytes"
        raise InvalidError("the venue file is too large", [Mistake("file", reason, "split the venue in two")])
    document = parse_json(data) if is_json else parse_yaml(data)
    if not isinstance(document.value, dict):
        remedy = "start with `id:` and `title:` of the venue"
        raise InvalidError(
            "the venue file cannot be read",
            [Mistake("file", "it is not a group of fields", remedy, document.line_of(()))],
        )
    too_long = cut_long_lists(document)
    try:
        venue = Venue.model_validate_json(json.dumps(document.value))
    except ValidationError as error:
        _raise_all(document, too_long, error)
    mistakes = [*too_long, *(fault.mistake(document.line_of(fault.where)) for fault in find_faults(venue))]
    if mistakes or document.mistakes:
        raise _invalid([*document.mistakes, *mistakes])
    return venue


def _raise_all(document: Document, too_long: Sequence[Mistake], error: ValidationError) -> NoReturn:
    """Raise what pydantic found, and what the reference checks find in the rest; MOST_TOLD at most."""
    mistakes = [*document.mistakes, *too_long]
    # A copy of its own: what an alias stands for is one object in several places.
    repair = Repair(json.loads(json.dumps(document.value)))
    stated, nearest = stated_fields(Venue), Nearest()
    venue: Venue | None = None
    for _ in range(MOST_ROUNDS):
        errors = own_errors(error.errors(include_url=False))[:MOST_TOLD]
        for one in errors:
            where = as_written(repair.original(one["loc"]), document.value, one["type"])
            told = Told(one, where, stated, document.value, nearest)
            mistakes.append(Mistake(field_name(where), *told.reason_and_remedy(), document.line_of(where)))
        if len(mistakes) >= MOST_TOLD:
            break
        _mend(repair, errors, stated)
        try:
            venue = Venue.model_validate_json(json.dumps(repair.value))
        except ValidationError as again:
            # Whole-item rules run only where the item's fields are right: what they find is new.
            error = again
        else:
            break
    if venue is not None and not repair.whole_collection_lost:
        for fault in find_faults(venue, repair.unreadable()):
            where = repair.original(fault.where)
            mistakes.append(Mistake(field_name(where), fault.reason, fault.remedy, document.line_of(where)))
    raise _invalid(mistakes)


def _mend(repair: Repair, errors: list[ErrorDetails], stated: StatedFields) -> None:
    unmended: list[Where] = []
    for one in errors:
        where = one["loc"]
        if one["type"] == "extra_forbidden":
            repair.remove_field(where)
        elif is_colour(stated.at(where, repair.value)):
            repair.blacken(where)
        else:
            unmended.append(where)
    repair.mend(unmended)


def _invalid(mistakes: list[Mistake]) -> InvalidError:
    ordered = sorted(dict.fromkeys(mistakes), key=lambda mistake: mistake.line or 0)
    count = len(ordered)
    if count >= MOST_TOLD:
        return InvalidError(f"the venue file has many mistakes; {MOST_TOLD} of them are told", ordered[:MOST_TOLD])
    return InvalidError(f"the venue file has {count} mistake{'' if count == 1 else 's'}", ordered)
