"""Unknown query parameters are refused: a filter typed wrong must not pass for one that matched everything."""

import difflib

from fastapi import Request

from hub.errors import InvalidError, Mistake

MAX_SHOWN = 60


def known_queries_only(request: Request) -> None:
    """Application-wide dependency. Raises InvalidError naming each unknown parameter and the nearest that there is.

    Not a coroutine: the first call makes the API document, which would hold up the event loop.
    """
    if not request.query_params:
        return
    known = _documented(request)
    unknown = [name for name in request.query_params if name not in known]
    if unknown:
        mistakes = [_mistake(name, known) for name in unknown]
        raise InvalidError("the call has query parameters that it does not take", mistakes)


def _documented(request: Request) -> list[str]:
    """What the API document says that the route takes, by the route's name, which is the operation's id there."""
    route = request.scope["route"]
    operations = (operation for path in request.app.openapi()["paths"].values() for operation in path.values())
    parameters = next((one.get("parameters", ()) for one in operations if one["operationId"] == route.name), ())
    return sorted(one["name"] for one in parameters if one["in"] == "query")


def _mistake(name: str, known: list[str]) -> Mistake:
    near = difflib.get_close_matches(name[:MAX_SHOWN], known, n=1)
    remedy = f"did you mean `{near[0]}`?" if near else f"it takes {', '.join(known)}" if known else "it takes none"
    return Mistake(f"query.{name[:MAX_SHOWN]}", "there is no such query parameter here", remedy)
