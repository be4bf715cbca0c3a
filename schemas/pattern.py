"""What the contract knows of patterns: that each states itself, and which ones this process has loaded.

A pattern is one file in `node_agent/render/patterns`: its statement, which derives from `Pattern`, and its light. The
contract finds a statement by its tag, so that it needs no list of them; `import node_agent.render` loads them all.
"""

import json
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, Final, Union, get_args

from pydantic import (
    Field,
    GetJsonSchemaHandler,
    SerializeAsAny,
    TypeAdapter,
    ValidationError,
    ValidationInfo,
    WrapValidator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, InitErrorDetails

from schemas.contract import Contract

_REGISTER: Final[dict[str, type["Pattern"]]] = {}
PATTERNS: Final[Mapping[str, type["Pattern"]]] = MappingProxyType(_REGISTER)
"""The statements of all patterns that are loaded, by tag."""
_NONE_LOADED: Final = "no pattern is loaded: import node_agent.render before scenes are read"


class Pattern(Contract):
    """The base of every pattern's statement: a subclass with a tag of its own is registered as it is made."""

    pattern: str

    @classmethod
    def __pydantic_init_subclass__(cls, **_: object) -> None:
        if tags := get_args(cls.model_fields["pattern"].annotation):
            _REGISTER[tags[0]] = cls


@cache
def _statements(count: int) -> TypeAdapter[Pattern]:
    if not count:
        raise RuntimeError(_NONE_LOADED)
    kinds = tuple(_REGISTER[tag] for tag in sorted(_REGISTER))
    statements: Any = Annotated[Union[kinds], Field(discriminator="pattern")]  # noqa: UP007 (made at run time)
    return TypeAdapter(statements)


def _stated(value: Any, _: object, info: ValidationInfo) -> Pattern:  # noqa: ANN401 (whatever stands there)
    if isinstance(value, Pattern):
        return value
    statement = _statement_of(value)
    # Strict contracts take arrays from JSON only, and a validator is handed what JSON was parsed into.
    return statement.model_validate_json(json.dumps(value)) if info.mode == "json" else statement.model_validate(value)


def _statement_of(value: Any) -> type[Pattern]:  # noqa: ANN401
    """Chosen here and not by a tagged union, whose errors put the tag between the names that a person wrote."""
    if not _REGISTER:
        raise RuntimeError(_NONE_LOADED)
    if not isinstance(value, dict):
        raise _refusal(InitErrorDetails(type="dict_type", input=value))
    if "pattern" not in value:
        raise _refusal(InitErrorDetails(type="missing", loc=("pattern",), input=value))
    tag = value["pattern"]
    if not isinstance(tag, str) or tag not in _REGISTER:
        expected = {"expected": ", ".join(map(repr, sorted(_REGISTER)))}
        raise _refusal(InitErrorDetails(type="literal_error", loc=("pattern",), input=tag, ctx=expected))
    return _REGISTER[tag]


def _refusal(error: InitErrorDetails) -> ValidationError:
    return ValidationError.from_exception_data("Pattern", [error])


class _StatedInSchemas:
    """The JSON Schema of a pattern: one of all that are loaded."""

    def __get_pydantic_json_schema__(self, _: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return handler(_statements(len(_REGISTER)).core_schema)


AnyPattern = Annotated[SerializeAsAny[Pattern], WrapValidator(_stated), _StatedInSchemas()]
