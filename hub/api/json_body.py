"""Bodies that are strict contracts: read in JSON's terms (an array is a tuple, a number may be whole)."""

import json
from typing import Any

from pydantic import GetCoreSchemaHandler, TypeAdapter
from pydantic_core import CoreSchema, PydanticCustomError, core_schema


class FromJson:
    """`Annotated[Supply, FromJson()]`: FastAPI hands over parsed JSON as Python objects, which a strict contract
    would refuse for being lists; this validates them as the JSON that they were."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:  # noqa: ANN401
        adapter: TypeAdapter[Any] = TypeAdapter(source)

        def validate(value: object, _handler: core_schema.ValidatorFunctionWrapHandler) -> object:
            if isinstance(value, bytes):
                raise PydanticCustomError("content_type", "the body must be sent as Content-Type: application/json")
            return adapter.validate_json(json.dumps(value))

        return core_schema.no_info_wrap_validator_function(validate, handler(source))
