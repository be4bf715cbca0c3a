"""What the contract knows of patterns: that each states itself, and which ones this process has loaded.

A pattern is one file in `node_agent/render/patterns`: its statement, which derives from `Pattern`, and its light. The
contract finds a statement by its tag, so that it needs no list of them; `import node_agent.render` loads them all.
"""

import json
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, Final, Union, get_args

from pydantic import Field, GetJsonSchemaHandler, SerializeAsAny, TypeAdapter, ValidationInfo, WrapValidator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from schemas.contract import Contract

_REGISTER: Final[dict[str, type["Pattern"]]] = {}
PATTERNS: Final[Mapping[str, type["Pattern"]]] = MappingProxyType(_REGISTER)
"""The statements of all patterns that are loaded, by tag."""


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
        raise RuntimeError("no pattern is loaded: import node_agent.render before scenes are read")
    kinds = tuple(_REGISTER[tag] for tag in sorted(_REGISTER))
    statements: Any = Annotated[Union[kinds], Field(discriminator="pattern")]  # noqa: UP007 (made at run time)
    return TypeAdapter(statements)


def _stated(value: Any, _: object, info: ValidationInfo) -> Pattern:  # noqa: ANN401 (whatever stands there)
    if isinstance(value, Pattern):
        return value
    statements = _statements(len(_REGISTER))
    # Strict contracts take arrays from JSON only, and a validator is handed what JSON was parsed into.
    return statements.validate_json(json.dumps(value)) if info.mode == "json" else statements.validate_python(value)


class _StatedInSchemas:
    """The JSON Schema of a pattern: one of all that are loaded."""

    def __get_pydantic_json_schema__(self, _: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return handler(_statements(len(_REGISTER)).core_schema)


AnyPattern = Annotated[SerializeAsAny[Pattern], WrapValidator(_stated), _StatedInSchemas()]
