"""The event bus: any thread publishes, each reader is bounded, one that falls behind is told to read anew."""

import asyncio
import threading
from collections.abc import Coroutine
from typing import Any

import pytest

from hub.errors import UnavailableError
from hub.events.bus import MAX_SUBSCRIBERS, MAX_WAITING, Event, EventBus, Subscription


def run(work: Coroutine[Any, Any, None]) -> None:
    async def bounded() -> None:
        async with asyncio.timeout(10):
            await work

    asyncio.run(bounded())


async def take(subscription: Subscription, count: int) -> list[Event]:
    return [await anext(subscription) for _ in range(count)]


def test_events_of_other_threads_arrive_in_order() -> None:
    async def work() -> None:
        bus = EventBus()
        subscription = bus.subscribe("arcade")

        def publish() -> None:
            for number in range(200):
                bus.publish("node", "arcade", {"number": number})

        thread = threading.Thread(target=publish)
        thread.start()
        events = await take(subscription, 200)
        thread.join()
        assert [event.data["number"] for event in events] == list(range(200))

    run(work())


def test_reader_hears_its_venue_only() -> None:
    async def work() -> None:
        bus = EventBus()
        subscription = bus.subscribe("arcade")
        bus.publish("node", "elsewhere", {})
        bus.publish("finding", "arcade", {})
        assert (await anext(subscription)).kind == "finding"
        assert bus.has_subscribers("arcade")
        assert not bus.has_subscribers("elsewhere")

    run(work())


def test_reader_that_falls_behind_gets_one_resync_and_then_what_follows() -> None:
    async def work() -> None:
        bus = EventBus()
        subscription = bus.subscribe("arcade")
        for number in range(MAX_WAITING + 3):
            bus.publish("node", "arcade", {"number": number})
        events = await take(subscription, 3)
        assert [event.kind for event in events] == ["resync", "node", "node"]
        assert events[-1].data["number"] == MAX_WAITING + 2

    run(work())


def test_readers_are_bounded_and_leave_room_when_they_go() -> None:
    async def work() -> None:
        bus = EventBus()
        subscriptions = [bus.subscribe("arcade") for _ in range(MAX_SUBSCRIBERS)]
        with pytest.raises(UnavailableError):
            bus.subscribe("arcade")
        bus.unsubscribe(subscriptions[0])
        bus.subscribe("arcade")

    run(work())


def test_closing_ends_every_reader_after_what_waits() -> None:
    async def work() -> None:
        bus = EventBus()
        subscription = bus.subscribe("arcade")
        bus.publish("node", "arcade", {})
        bus.close()
        assert [event.kind async for event in subscription] == ["node"]
        with pytest.raises(UnavailableError):
            bus.subscribe("arcade")

    run(work())


def test_reader_whose_event_loop_is_gone_hurts_nobody() -> None:
    bus = EventBus()

    async def subscribe() -> None:
        bus.subscribe("arcade")

    asyncio.run(subscribe())
    bus.publish("node", "arcade", {})
    bus.close()
