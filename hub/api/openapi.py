"""What the OpenAPI document says beyond the routes: the token, and that every error is a problem of RFC 9457."""

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from hub.api.problem import PROBLEM_MEDIA_TYPE, Problem

TITLE = "Stringcourse hub"
VERSION = "1"
DESCRIPTION = """\
The API of a hub that runs the lighting nodes of a venue.

- **Token.** Every call but those for this document, `live` and `ready` needs `Authorization: Bearer TOKEN`.
  `stringcourse up` prints the first token; `stringcourse token new` makes another.
- **Errors** are problem details (RFC 9457), `application/problem+json`. `mistakes` names every field that is wrong,
  why, and what to do.
- **Lists** come in pages: send `next` as `cursor` until it is null.
- **Changes** need `If-Match` with the ETag that you read, so that nobody overwrites what they have not seen;
  `If-None-Match: *` creates.
- **Times** end in `_ms` and are milliseconds since 1970 (UTC); units stand in the names: `_a` amps, `_m` metres.
"""
_METHODS = frozenset({"get", "put", "post", "delete", "patch"})


def describe(app: FastAPI) -> None:
    """Give the application its title and a document that tells the whole truth about errors and tokens."""
    app.title, app.version, app.description = TITLE, VERSION, DESCRIPTION

    def document() -> dict[str, Any]:
        if not app.openapi_schema:
            app.openapi_schema = _complete(
                get_openapi(
                    title=app.title,
                    version=app.version,
                    description=app.description,
                    routes=app.routes,
                    separate_input_output_schemas=app.separate_input_output_schemas,
                )
            )
        return app.openapi_schema

    app.openapi = document  # type: ignore[method-assign]  # FastAPI's documented way to extend the document


def _complete(document: dict[str, Any]) -> dict[str, Any]:
    components = document.setdefault("components", {})
    schemas = components.setdefault("schemas", {})
    problem = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas.update(problem.pop("$defs"))
    schemas["Problem"] = problem
    for replaced in ("HTTPValidationError", "ValidationError"):
        schemas.pop(replaced, None)
    components["responses"] = {
        "Problem": {
            "description": "What went wrong, as problem details (RFC 9457).",
            "content": {PROBLEM_MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
    }
    components["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    document["security"] = [{"token": []}]
    for path in document.get("paths", {}).values():
        for method, operation in path.items():
            if method in _METHODS:
                operation["responses"].pop("422", None)
                operation["responses"]["default"] = {"$ref": "#/components/responses/Problem"}
    return document
