"""The field that a contract states where a value stands: `layers[0].pattern.speed_m_per_s`, say."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from hub.statements.words import Schema


class StatedFields:
    """Fields by where they stand below a contract; a value tells which of several forms is meant there."""

    def __init__(self, contract: Any) -> None:  # noqa: ANN401 (whatever pydantic can describe)
        self._root: Schema = TypeAdapter(contract).json_schema()
        self._defs: Mapping[str, Schema] = self._root.get("$defs", {})

    def at(self, where: Sequence[str | int], value: Any) -> Schema:  # noqa: ANN401 (any JSON value)
        """The JSON Schema of the field at `where`, references and unions resolved; empty where none is stated."""
        schema = self._form(self._root, value)
        for part in where:
            if isinstance(part, int):
                fixed: Sequence[Schema] = schema.get("prefixItems", ())
                schema = fixed[part] if part < len(fixed) else schema.get("items", {})
                value = value[part] if isinstance(value, list) and part < len(value) else None
            else:
                schema = schema.get("properties", {}).get(part, {})
                value = value.get(part) if isinstance(value, dict) else None
            schema = self._form(schema, value)
        return schema

    def _form(self, schema: Schema, value: Any) -> Schema:  # noqa: ANN401
        """One of the forms that a value may have: the one that `value` shares the most names with."""
        if "$ref" in schema:
            return {**self._form(self._defs[schema["$ref"].rsplit("/", 1)[1]], value), **schema}
        mapping = schema.get("discriminator", {}).get("mapping", {})
        if mapping and isinstance(value, dict):
            tag = value.get(schema["discriminator"]["propertyName"])
            return self._form({"$ref": mapping[tag]}, value) if isinstance(tag, str) and tag in mapping else {}
        forms = [self._form(one, value) for one in schema.get("anyOf", schema.get("oneOf", ()))]
        said = {name: part for name, part in schema.items() if name not in {"anyOf", "oneOf"}}
        objects = [one for one in forms if "properties" in one]
        if isinstance(value, dict) and objects:
            return {**max(objects, key=lambda one: len(value.keys() & one["properties"].keys())), **said}
        plain = [one for one in forms if "type" in one and one["type"] != "null"]
        # Of several forms that are no groups none is meant more than the others.
        return {**plain[0], **said} if len(plain) == 1 else schema


@cache
def stated_fields(contract: Any) -> StatedFields:  # noqa: ANN401
    """The same for every input of a kind."""
    return StatedFields(contract)
