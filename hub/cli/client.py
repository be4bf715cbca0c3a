"""The command line's way to a hub: options that every command shares, and a client that tells failures apart."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType
from typing import Annotated, Any, Self
from urllib.parse import quote

import httpx
import typer

from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.errors import Mistake

DEFAULT_HUB = "http://127.0.0.1:8460"
TOKEN_VARIABLE = "STRINGCOURSE_TOKEN"  # noqa: S105 (the variable's name, not a token)
TIMEOUT_S = 60.0

HubAddress = Annotated[
    str,
    typer.Option("--hub", envvar="STRINGCOURSE_HUB", metavar="URL", help=f"The hub; its token in {TOKEN_VARIABLE}."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]

_EXIT_CODES = {
    400: ExitCode.BAD_INPUT,
    401: ExitCode.NOT_AUTHORISED,
    403: ExitCode.NOT_AUTHORISED,
    404: ExitCode.NOT_FOUND,
    409: ExitCode.CONFLICT,
    412: ExitCode.CONFLICT,
    413: ExitCode.BAD_INPUT,
    422: ExitCode.BAD_INPUT,
    428: ExitCode.CONFLICT,
    503: ExitCode.NOT_REACHABLE,
}


class HubClient:
    """Calls a hub's API. Every failure is a CommandError with the hub's own words and the exit code for it."""

    def __init__(self, address: str = DEFAULT_HUB) -> None:
        token = os.environ.get(TOKEN_VARIABLE, "").strip()
        if not token:
            raise CommandError(
                ExitCode.NOT_AUTHORISED,
                f"no token: set {TOKEN_VARIABLE} to the token that `stringcourse up` printed, "
                "or make one with `stringcourse token new --data DIR`",
            )
        if not token.isascii() or not token.isprintable():
            raise CommandError(ExitCode.NOT_AUTHORISED, f"{TOKEN_VARIABLE} holds no token: copy it again")
        try:
            self._http = httpx.Client(
                base_url=f"{address.rstrip('/')}/api/v1",
                headers={"Authorization": f"Bearer {token}"},
                timeout=TIMEOUT_S,
                trust_env=False,
            )
        except httpx.InvalidURL as error:
            raise CommandError(ExitCode.BAD_INPUT, f"--hub is not an address: {error}; try {DEFAULT_HUB}") from error
        self._address = address

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._http.close()

    def get(self, path: str, **query: object) -> Any:  # noqa: ANN401 (parsed JSON)
        """The JSON at `path` (below /api/v1); queries that are None are left out."""
        return self.call("GET", path, query=query).json()

    def every(self, path: str, **query: object) -> list[Any]:
        """All items of a list, page after page."""
        items: list[Any] = []
        cursor: str | None = None
        while True:
            page = self.get(path, cursor=cursor, limit=500, **query)
            items.extend(page["items"])
            cursor = page["next"]
            if cursor is None:
                return items

    def call(
        self,
        method: str,
        path: str,
        *,
        query: dict[str, Any] | None = None,
        json: object = None,
        content: bytes | None = None,
        headers: dict[str, str] | None = None,
        timeout_s: float = TIMEOUT_S,
    ) -> httpx.Response:
        """One call; the response of a success. Raises CommandError for everything else."""
        present = {key: value for key, value in (query or {}).items() if value is not None}
        try:
            response = self._http.request(
                method, path, params=present, json=json, content=content, headers=headers, timeout=timeout_s
            )
        except (httpx.TransportError, httpx.InvalidURL) as error:
            raise self._not_reachable(error) from error
        if response.is_success:
            return response
        raise _failure(response)

    @contextmanager
    def stream(
        self, method: str, path: str, *, query: dict[str, Any] | None = None, json: object = None
    ) -> Iterator[Iterator[bytes]]:
        """One call whose answer goes on: its bytes as they come. Raises as `call` does."""
        try:
            with self._http.stream(method, path, params=query, json=json) as response:
                if not response.is_success:
                    response.read()
                    raise _failure(response)
                yield response.iter_raw()
        except (httpx.TransportError, httpx.InvalidURL) as error:
            raise self._not_reachable(error) from error

    def _not_reachable(self, error: Exception) -> CommandError:
        return CommandError(
            ExitCode.NOT_REACHABLE,
            f"no hub answers at {self._address} ({error}); start it with `stringcourse up`, or name it with --hub",
        )


def path_of(*parts: str) -> str:
    """A path from parts that a person typed: each is quoted, so that none can reach elsewhere."""
    return "".join(f"/{quote(part, safe='')}" for part in parts)


def _failure(response: httpx.Response) -> CommandError:
    code = _EXIT_CODES.get(response.status_code, ExitCode.HUB_FAILED)
    try:
        problem = response.json()
        mistakes = [
            Mistake(str(one["field"]), str(one["reason"]), str(one["remedy"]), one.get("line"))
            for one in problem["mistakes"]
        ]
        return CommandError(code, f"{problem['title']}: {problem['detail']}", mistakes)
    except (ValueError, KeyError, TypeError):
        return CommandError(code, f"the hub answered {response.status_code}, which is no answer of a Stringcourse hub")
