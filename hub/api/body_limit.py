"""Bounds the body of every request, counted as it streams in. (FastAPI's own limit answers in plain text.)"""

from http import HTTPStatus

from fastapi import HTTPException
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from hub.api.problem import problem_response


class BodyLimit:
    """Refuses a body of more than `max_bytes` with 413: at once where its length is declared, else when it passes."""

    def __init__(self, app: ASGIApp, max_bytes: int) -> None:
        self._app = app
        self._max_bytes = max_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        declared = Headers(scope=scope).get("content-length", "0")
        if declared.isdecimal() and int(declared) > self._max_bytes:
            status = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
            await problem_response(status, status.phrase.capitalize(), self._detail())(scope, receive, send)
            return
        received = 0

        async def counted() -> Message:
            nonlocal received
            message = await receive()
            received += len(message.get("body", b""))
            if received > self._max_bytes:
                # FastAPI passes only its own exceptions through from reading a body.
                raise HTTPException(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, self._detail())
            return message

        await self._app(scope, counted, send)

    def _detail(self) -> str:
        return f"a request body may have at most {self._max_bytes} bytes; send less"
