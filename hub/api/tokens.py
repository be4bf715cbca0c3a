"""Access tokens of API and page: made once, shown once, kept as a hash; and the guard that asks for one."""

import hashlib
import hmac
import secrets
import time

from anyio import to_thread
from sqlalchemy import Engine, select
from sqlmodel import Session, col
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from hub.api.models import AccessToken
from hub.api.problem import response_of
from hub.errors import HubError, UnauthorisedError

TOKEN_BYTES = 32
MAX_TOKEN_CHARACTERS = 200
GUARDED = "/api/"
OPEN_PATHS = frozenset({"/api/v1/openapi.json"})


class TokenService:
    """Makes tokens and knows them again."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def make(self) -> str:
        """A new token of 256 random bits. Only its SHA-256 is kept, so this is the one chance to read it."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        with Session(self._engine) as session:
            session.add(AccessToken(sha256=_digest(token), made_at_ms=time.time_ns() // 1_000_000))
            session.commit()
        return token

    def knows(self, token: str) -> bool:
        """Whether `token` was made here. The search is by hash, so its time tells nothing about a token."""
        digest = _digest(token)
        with self._engine.connect() as connection:
            found = connection.scalar(select(col(AccessToken.sha256)).where(col(AccessToken.sha256) == digest))
        return found is not None and hmac.compare_digest(found, digest)

    def any_made(self) -> bool:
        """Whether there is a token at all; a new hub has none."""
        with self._engine.connect() as connection:
            return connection.scalar(select(col(AccessToken.sha256)).limit(1)) is not None


class TokenGuard:
    """Lets nothing under /api/ through without `Authorization: Bearer TOKEN`, whatever the routes behind it say."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not scope["path"].startswith(GUARDED) or scope["path"] in OPEN_PATHS:
            await self._app(scope, receive, send)
            return
        tokens: TokenService = scope["app"].state.hub.tokens
        try:
            await to_thread.run_sync(_require_known, tokens, _bearer(Headers(scope=scope).get("authorization", "")))
        except HubError as error:  # the database may not answer, too
            await response_of(error)(scope, receive, send)
            return
        await self._app(scope, receive, send)


def _require_known(tokens: TokenService, token: str | None) -> None:
    if token is None:
        raise UnauthorisedError("send the token that `stringcourse up` printed as `Authorization: Bearer TOKEN`")
    if not tokens.knows(token):
        raise UnauthorisedError("the hub does not know this token; `stringcourse token new` makes another")


def _bearer(header: str) -> str | None:
    scheme, _, token = header.partition(" ")
    token = token.strip()
    if scheme.lower() != "bearer" or not token or len(token) > MAX_TOKEN_CHARACTERS:
        return None
    return token


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
