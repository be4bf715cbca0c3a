"""Live state for readers: the shape the page expects, and node events that do not flood it."""

import asyncio

import pytest

from hub.errors import NotFoundError
from hub.events.bus import Event, EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.roster import Roster
from hub.fleet.views import EVENT_EVERY_S, NodeViews
from schemas import BoardFigures, Held, Leaf, Refusal, Reported, Venue
from tests.conftest import NODES, VENUE
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.played_node import telemetry

NOW_S = 1_000.0


def make() -> tuple[FleetLoop, EventBus, NodeViews]:
    loop, events = FleetLoop(), EventBus()
    roster = Roster(loop)
    nodes = [{"id": node, "title": node.upper(), "outputs": 1} for node in NODES]
    roster.venue_changed(Venue.model_validate({"id": VENUE, "title": "Arcade", "nodes": nodes}, strict=False))
    return loop, events, NodeViews(loop, roster, events, lambda _venue, _node: 7)


def heard_while(during: list[tuple[float, list[Leaf]]]) -> list[Event]:
    """The events while `during` happens: at each time some changes, then a tick."""
    loop, events, views = make()

    async def follow() -> list[Event]:
        subscription = events.subscribe(VENUE)
        node = loop.state.nodes[VENUE, NODES[0]]
        for now_s, leaves in during:
            for leaf in leaves:
                views.node_changed(node, leaf, now_s)
            views.tick(now_s)
        events.close()
        return [event async for event in subscription]

    return asyncio.run(follow())


def test_view_has_every_field_that_the_page_reads() -> None:
    loop, _, views = make()
    node = loop.state.nodes[VENUE, NODES[0]]
    node.presence, node.agent_version, node.online, node.heard_at_s = presence("online", 1), "0.1.0", True, NOW_S
    board = BoardFigures(starts=12, start_cause="power", link="wireless", signal_dbm=-71)
    node.telemetry = telemetry().model_copy(update={"board": board})
    refusal = Refusal(revision=7, field="scenes.0", reason="too many layers", remedy="fewer")
    held = Held(revision=6, sha256="0" * 64)
    node.reported = Reported(boot_id=BOOT, session=1, showing=held, scene="evening", refusal=refusal)
    loop.start()
    try:
        first, second = views.states(VENUE)
    finally:
        loop.stop()
    assert first.model_dump() == {
        "node": NODES[0],
        "title": NODES[0].upper(),
        "online": True,
        "heard_at_ms": 1_000_000,
        "agent_version": "0.1.0",
        "uptime_s": node.telemetry.uptime_s,
        "revision_desired": 7,
        "revision_staged": None,
        "revision_showing": 6,
        "scene": "evening",
        "frame_rate_hz": 60.0,
        "frame_rate_target_hz": 60.0,
        "late_frames": 0,
        "render_ms": node.telemetry.render_ms,
        "rejected_messages": 0,
        "temperature_c": 41.5,
        "clock_offset_ms": 0.1,
        "clock_dispersion_ms": 0.2,
        "clock_drift_ppm": 12.5,
        "clock_source": "hub",
        "wall_clock_disciplined": False,
        "board": board.model_dump(),
        "supplies": [{"supply": "psu-1", "amps": 1.5, "highest_a": 2.0, "limiter_scale": 1.0}],
        "refusal": {"field": "scenes.0", "reason": "too many layers", "remedy": "fewer"},
    }
    assert (second.node, second.online, second.heard_at_ms, second.supplies) == (NODES[1], False, None, [])


def test_unknown_venue_is_not_found() -> None:
    _, _, views = make()
    with pytest.raises(NotFoundError):
        views.states("elsewhere")


def test_telemetry_makes_at_most_one_event_a_second_and_the_last_is_not_lost() -> None:
    during = [(NOW_S + step / 10, [Leaf.TELEMETRY] * 5) for step in range(20)]
    quiet: list[tuple[float, list[Leaf]]] = [(NOW_S + 2 + step / 10, []) for step in range(20)]
    heard = heard_while(during + quiet)
    assert len(heard) == round(2 / EVENT_EVERY_S) + 1
    assert {event.kind for event in heard} == {"node"}


def test_birth_and_death_are_told_at_once() -> None:
    during = [(NOW_S, [Leaf.TELEMETRY]), (NOW_S + 0.1, [Leaf.PRESENCE]), (NOW_S + 0.2, [Leaf.REPORTED])]
    assert len(heard_while(during)) == 3


def test_answers_are_no_news() -> None:
    assert heard_while([(NOW_S, [Leaf.ANSWER])]) == []
