"""The event stream: server-sent events (WHATWG HTML, section 9.2) of one venue."""

from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.sse import EventSourceResponse, ServerSentEvent

from hub.app import TheHub
from hub.events.bus import Subscription
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["events"])


async def _subscription(hub: TheHub, venue: Id) -> AsyncIterator[Subscription]:
    # Before the answer begins, so that an unknown venue is a 404 and not an empty stream.
    hub.roster.titles(venue)
    subscription = hub.events.subscribe(venue)
    try:
        yield subscription
    finally:
        hub.events.unsubscribe(subscription)


@router.get("/events", response_class=EventSourceResponse)
async def events(subscription: Annotated[Subscription, Depends(_subscription)]) -> AsyncIterator[ServerSentEvent]:
    """What changes, as it changes: `node`, `finding`, `rollout` (data as their lists show them), `venue`, `resync`.

    `resync` means that this reader fell behind and events were dropped: read the lists anew. A comment comes every
    15 s where nothing happens.
    """
    yield ServerSentEvent(comment="following", retry=2_000)
    async for event in subscription:
        yield ServerSentEvent(event=event.kind, data=event.data)
