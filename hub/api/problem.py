"""Every error that leaves the hub, as a problem of RFC 9457: what happened, which field, what to do about it."""

import json
import logging
import secrets
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Self

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import Response

from hub.errors import HubError, Mistake, UnauthorisedError
from hub.validation import mistakes_of

PROBLEM_MEDIA_TYPE = "application/problem+json"
MAX_MISTAKES = 500

_log = logging.getLogger(__name__)


class ProblemMistake(BaseModel):
    """One thing wrong with the input."""

    field: str = Field(description="Where it is, such as `nodes[3].outputs`, `body.scene` or `query.limit`.")
    reason: str = Field(description="What is wrong.")
    remedy: str = Field(description="What to do about it.")
    line: int | None = Field(default=None, description="Line in the file that was sent, from 1.")

    @classmethod
    def of(cls, mistake: Mistake) -> Self:
        return cls(field=mistake.field, reason=mistake.reason, remedy=mistake.remedy, line=mistake.line)


class Problem(BaseModel):
    """Problem details of RFC 9457, with every mistake that was found in the input."""

    type: str = Field(default="about:blank", description="Always about:blank: the status says what kind it is.")
    title: str = Field(description="The kind of problem, the same for every problem of that kind.")
    status: int = Field(description="HTTP status.", ge=400, le=599)
    detail: str = Field(description="What happened this time, for a person.")
    mistakes: list[ProblemMistake] = Field(default=[], description=f"At most {MAX_MISTAKES} of what was found.")


def problem_response(
    status: HTTPStatus | int,
    title: str,
    detail: str,
    mistakes: Sequence[Mistake] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """The one shape of an error."""
    problem = Problem(
        title=title,
        status=int(status),
        detail=detail,
        mistakes=[ProblemMistake.of(mistake) for mistake in mistakes[:MAX_MISTAKES]],
    )
    # A hostile input may be quoted in a reason; lone surrogates in it must not break the answer.
    body = json.dumps(problem.model_dump(), ensure_ascii=False).encode("utf-8", "replace")
    return Response(body, status_code=int(status), media_type=PROBLEM_MEDIA_TYPE, headers=headers)


def response_of(error: HubError) -> Response:
    """The answer for an error of the hub's own family."""
    headers = {"WWW-Authenticate": "Bearer"} if isinstance(error, UnauthorisedError) else None
    return problem_response(error.status, error.title, error.detail, error.mistakes, headers)


def install_problems(app: FastAPI) -> None:
    """Turn every error of the application into a problem, those that nobody foresaw too."""
    app.add_exception_handler(HubError, _on_hub_error)
    app.add_exception_handler(RequestValidationError, _on_validation_error)
    app.add_exception_handler(HTTPException, _on_http_error)
    app.add_exception_handler(Exception, _on_unforeseen)


async def _on_hub_error(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HubError)  # noqa: S101 (Starlette types every handler for Exception)
    if error.status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        _log.warning("%s: %s", error.title, error.detail)
    return response_of(error)


async def _on_validation_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101
    body = getattr(request.scope.get("route"), "body_field", None)
    contract = None if body is None else body.field_info.annotation
    mistakes = mistakes_of(error.errors(), contract, error.body, within=("body",))
    detail = f"the request has {len(mistakes)} mistake{'s' if len(mistakes) != 1 else ''}"
    return problem_response(HTTPStatus.UNPROCESSABLE_ENTITY, "Invalid input", detail, mistakes)


_SAID_BETTER = {
    HTTPStatus.NOT_FOUND: "nothing is at this address; /api/v1/openapi.json lists what there is",
    HTTPStatus.METHOD_NOT_ALLOWED: "this address does not take this method; the Allow header lists those that it takes",
}


async def _on_http_error(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101
    status = HTTPStatus(error.status_code)
    detail = str(error.detail)
    if detail == status.phrase:
        detail = _SAID_BETTER.get(status, detail)
    return problem_response(status, status.phrase.capitalize(), detail, headers=error.headers)


async def _on_unforeseen(request: Request, error: Exception) -> Response:
    incident = secrets.token_hex(4)
    _log.error("incident %s at %s %s", incident, request.method, request.url.path, exc_info=error)
    return problem_response(
        HTTPStatus.INTERNAL_SERVER_ERROR,
        HubError.title,
        f"the hub failed in a way nobody foresaw; its log has the cause under incident {incident}",
    )
