"""Serves the built page: one document at `/`, its assets for a year, and headers that let nothing foreign in."""

import re
from pathlib import Path
from typing import Final

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response

DIST: Final = Path(__file__).parent / "dist"

_HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; object-src 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# Vite puts a hash of the content into every asset's name, so a name never changes its meaning.
_KEPT: Final = "public, max-age=31536000, immutable"
_ASSET_NAME: Final = re.compile(r"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)+")
_ASKED_EACH_TIME: Final = "no-cache"
_NOT_BUILT: Final = (
    "The operator's page is not built, so the hub serves its API and command line only.\n\n"
    "Build it once, from the project's root:\n\n"
    "    python -m pip install --editable '.[hub]'\n\n"
    "This runs the page's build, and says what it lacks if it cannot.\n"
)


def mount_page(app: FastAPI, dist: Path = DIST) -> None:
    """Add the page's routes to `app`: `/`, `/mark.svg` and `/assets/NAME`. The API document leaves them out."""
    index = dist / "index.html"

    def document(_request: Request) -> Response:
        if not index.is_file():
            return PlainTextResponse(_NOT_BUILT, status_code=503, headers=_HEADERS | {"Cache-Control": "no-store"})
        return FileResponse(index, headers=_HEADERS | {"Cache-Control": _ASKED_EACH_TIME})

    def mark(_request: Request) -> Response:
        return _file(dist / "mark.svg", _ASKED_EACH_TIME)

    def asset(request: Request) -> Response:
        name: str = request.path_params["name"]
        return _file(dist / "assets" / name if _ASSET_NAME.fullmatch(name) else None, _KEPT)

    app.add_route("/", document, methods=["GET"], include_in_schema=False)
    app.add_route("/mark.svg", mark, methods=["GET"], include_in_schema=False)
    app.add_route("/assets/{name}", asset, methods=["GET"], include_in_schema=False)


def _file(path: Path | None, cache: str) -> Response:
    if path is None or not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, headers=_HEADERS | {"Cache-Control": cache})
