from typing import Annotated, Any, Literal

import pytest
from pydantic import Field, TypeAdapter

from hub.statements.words import allowed_in_words, range_in_words

METRES = Field(ge=0.001, le=10_000, json_schema_extra={"unit": "m"})


@pytest.mark.parametrize(
    ("kind", "range_", "allowed"),
    [
        (Annotated[float, METRES], "0.001 to 10000", "a number from 0.001 to 10000 m"),
        (Annotated[float, Field(gt=0, le=60)], "more than 0 and at most 60", "a number, more than 0 and at most 60"),
        (Annotated[float, Field(ge=1)], "at least 1", "a number, at least 1"),
        (Annotated[float, Field(lt=1e-7)], "less than 0.0000001", "a number, less than 0.0000001"),
        (Annotated[int, Field(ge=-2, le=2**32 - 1)], "-2 to 4294967295", "a whole number from -2 to 4294967295"),
        (bool, "", "true or false"),
        (Literal["s", "x"], "s, x", "one of s, x"),
        (Annotated[str, Field(max_length=24)], "at most 24 characters", "text of at most 24 characters"),
        (Annotated[tuple[int, ...], Field(min_length=2, max_length=16)], "2 to 16 items", "a list of 2 to 16 items"),
        (tuple[int, int], "2 items", "a list of 2 items"),
        (dict[str, int], "", "a group of fields"),
    ],
)  # fmt: skip
def test_what_is_allowed_is_said_in_words(kind: Any, range_: str, allowed: str) -> None:  # noqa: ANN401 (types are what is tested)
    schema = TypeAdapter(kind).json_schema()
    assert range_in_words(schema) == range_
    assert allowed_in_words(schema) == allowed
