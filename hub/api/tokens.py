"""Access tokens of API and page: made once, shown once, kept as a hash; and the guard that asks for one.

A token may be made for a person by name. The guard hands that name to the routes: a venue may ask that two persons
agree on a rollout, and the record says who asked for what.
"""

import hashlib
import hmac
import secrets
import time
from dataclasses import dataclass
from typing import Annotated

from anyio import to_thread
from fastapi import Depends, Request
from sqlalchemy import Engine, select
from sqlmodel import Session, col
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from hub.api.models import AccessToken
from hub.api.problem import response_of
from hub.errors import HubError, NameNeededError, UnauthorisedError

TOKEN_BYTES = 32
MAX_TOKEN_CHARACTERS = 200
GUARDED = ("/api/", "/metrics")
OPEN_PATHS = frozenset({"/api/v1/openapi.json", "/api/v1/live", "/api/v1/ready"})


@dataclass(frozen=True, slots=True)
class Bearer:
    """Whoever holds a token that the hub knows. `person` is None where the token was made for nobody in particular."""

    person: str | None


class TokenService:
    """Makes tokens and knows them again."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def make(self, person: str | None = None) -> str:
        """A new token of 256 random bits. Only its SHA-256 is kept, so this is the one chance to read it."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        row = AccessToken(sha256=_digest(token), made_at_ms=time.time_ns() // 1_000_000, name=person)
        with Session(self._engine) as session:
            session.add(row)
            session.commit()
        return token

    def bearer(self, token: str) -> Bearer | None:
        """Who holds `token`; None where it was not made here. The search is by hash: its time tells nothing."""
        digest = _digest(token)
        wanted = select(col(AccessToken.sha256), col(AccessToken.name)).where(col(AccessToken.sha256) == digest)
        with self._engine.connect() as connection:
            found = connection.execute(wanted).first()
        return Bearer(found.name) if found is not None and hmac.compare_digest(found.sha256, digest) else None

    def knows(self, token: str) -> bool:
        """Whether `token` was made here."""
        return self.bearer(token) is not None

    def any_made(self) -> bool:
        """Whether there is a token at all; a new hub has none."""
        with self._engine.connect() as connection:
            return connection.scalar(select(col(AccessToken.sha256)).limit(1)) is not None


class TokenGuard:
    """Lets nothing through to API and metrics without `Authorization: Bearer TOKEN`, whatever the routes behind it say.

    But for `OPEN_PATHS`, which tell strangers nothing.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not scope["path"].startswith(GUARDED) or scope["path"] in OPEN_PATHS:
            await self._app(scope, receive, send)
            return
        tokens: TokenService = scope["app"].state.hub.tokens
        try:
            bearer = await to_thread.run_sync(_known, tokens, _token_in(Headers(scope=scope).get("authorization", "")))
        except HubError as error:  # the database may not answer, too
            await response_of(error)(scope, receive, send)
            return
        scope.setdefault("state", {})["bearer"] = bearer
        await self._app(scope, receive, send)


def _person_of(request: Request) -> str | None:
    bearer: Bearer = request.state.bearer
    return bearer.person


ThePerson = Annotated[str | None, Depends(_person_of)]
"""FastAPI dependency: the name on the caller's token; None where it has none."""


def _named_person_of(request: Request) -> str:
    person = _person_of(request)
    if person is None:
        raise NameNeededError
    return person


NamedPerson = Annotated[str, Depends(_named_person_of)]
"""FastAPI dependency: the name on the caller's token. NameNeededError (403) where it has none."""


def _known(tokens: TokenService, token: str | None) -> Bearer:
    if token is None:
        raise UnauthorisedError("send the token that `stringcourse up` printed as `Authorization: Bearer TOKEN`")
    bearer = tokens.bearer(token)
    if bearer is None:
        raise UnauthorisedError("the hub does not know this token; `stringcourse token new` makes another")
    return bearer


def _token_in(header: str) -> str | None:
    scheme, _, token = header.partition(" ")
    token = token.strip()
    if scheme.lower() != "bearer" or not token or len(token) > MAX_TOKEN_CHARACTERS:
        return None
    return token


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
