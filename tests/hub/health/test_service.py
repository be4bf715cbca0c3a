"""Findings over time on a real broker and a real database: told once, ended, and known again after a restart."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import Engine

from hub.events.bus import EventBus
from hub.fleet.lifeline import Lifeline
from hub.fleet.loop import FleetListener, FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.health.service import HealthService
from hub.health.table import FindingFilter
from hub.health.view import FindingView
from schemas import Venue
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.hub.conftest import RunningFleet, StartFleet, on_each_database
from tests.hub.played_node import PlayedNode
from tests.processes import wait_until

NODE = NODES[0]
Watched = tuple[RunningFleet, HealthService]


@pytest.fixture
def watch(engine: Engine, start_fleet: StartFleet) -> Callable[[], Watched]:
    """Starts a fleet with its health service, as a hub does; again for a hub that was restarted."""

    def start() -> Watched:
        made: list[HealthService] = []

        def listeners(loop: FleetLoop) -> list[FleetListener]:
            health = HealthService(
                engine, loop, EventBus(), telemetry_interval_s=0.5, desired_revision=lambda _venue, _node: None
            )
            health.adopt_open()
            made.append(health)
            return [Rebirth(loop), Lifeline(loop, 0.5), health]

        fleet = start_fleet(listeners)
        return fleet, made[0]

    return start


def findings(health: HealthService, *, open_only: bool | None = None, node: str = NODE) -> list[FindingView]:
    return health.findings(VENUE, FindingFilter(open=open_only, node=node), None, 100)


def test_killed_node_is_told_once_within_three_seconds_and_ends_when_it_returns(
    broker: Broker, watch: Callable[[], Watched], caplog: pytest.LogCaptureFixture
) -> None:
    fleet, health = watch()
    with PlayedNode(broker, NODE, session=1) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        node.die()
        wait_until(lambda: findings(health), 3, "the finding")
    with PlayedNode(broker, NODE, session=2) as node:
        node.birth()
        wait_until(lambda: findings(health, open_only=False), 8, "the end of the finding")
    (finding,) = findings(health)
    assert finding.kind == "silent"
    assert finding.evidence["told_by"] == "last will"
    assert caplog.text.count("finding opened") == 1


@on_each_database
def test_restarted_hub_knows_its_open_finding_and_does_not_tell_it_again(
    broker: Broker, watch: Callable[[], Watched]
) -> None:
    fleet, health = watch()
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        node.die()
        wait_until(lambda: findings(health), 3)
    (before,) = findings(health)
    fleet.link.stop()
    fleet.loop.stop()

    restarted, health = watch()
    wait_until(lambda: restarted.node().presence, 5, "the retained death")
    assert findings(health) == [before]
    with PlayedNode(broker, NODE, session=2) as node:
        node.birth()
        wait_until(lambda: findings(health, open_only=False), 8, "the end of the adopted finding")
    (after,) = findings(health)
    assert after.id == before.id
    assert after.started_at_ms == before.started_at_ms


def test_broker_outage_makes_nobody_silent(broker: Broker, watch: Callable[[], Watched]) -> None:
    fleet, health = watch()
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        broker.kill()
        wait_until(lambda: not fleet.link.connected, 10)
    broker.start()
    wait_until(lambda: fleet.link.connected, 20)
    with PlayedNode(broker, NODE, session=2) as node:
        node.birth()
        wait_until(lambda: fleet.node().session == 2, 10)
        seen_s = fleet.loop.call(lambda now_s: now_s)
        wait_until(lambda: fleet.loop.call(lambda now_s: now_s) > seen_s + 1.2, 5, "two more looks at every node")
        assert findings(health) == []


def test_node_that_hangs_without_a_will_is_told_after_three_intervals(
    broker: Broker, watch: Callable[[], Watched]
) -> None:
    fleet, health = watch()
    with PlayedNode(broker, NODE) as node:
        node.answers_rebirth = False
        node.birth()
        # Holding a document, it reports at the fleet's interval, 0.5 s here.
        node.report(staged={"revision": 1, "sha256": "0" * 64})
        node.measure()
        wait_until(lambda: fleet.node().telemetry, 5)
        wait_until(lambda: findings(health), 6, "the finding, though the connection stands")
        (finding,) = findings(health)
        assert finding.evidence["told_by"] == "no word"
        node.measure()
        wait_until(lambda: fleet.node().online, 5, "its next word")


def test_finding_of_a_node_that_left_the_venue_ends(broker: Broker, watch: Callable[[], Watched]) -> None:
    fleet, health = watch()
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        node.die()
        wait_until(lambda: findings(health), 3)
    fleet.loop.set_roster(VENUE, [NODES[1]])
    wait_until(lambda: findings(health, open_only=False), 5)


@on_each_database
def test_overload_names_the_supply_and_the_figures(
    broker: Broker, watch: Callable[[], Watched], monkeypatch: pytest.MonkeyPatch
) -> None:
    from hub.health.kinds import FindingKind
    from hub.health.rule import Hysteresis
    from hub.health.rules.book import RULES

    rule = replace(RULES[FindingKind.OVERLOADED], hysteresis=Hysteresis(opens_after_s=0.5, ends_after_s=0.5))
    monkeypatch.setattr("hub.health.service.RULES", dict(RULES) | {rule.kind: rule})
    fleet, health = watch()
    supplies = [{"id": "psu-1", "volts": 5.0, "rated_a": 4.0}]
    health.venue_changed(Venue.model_validate_json(json.dumps({"id": VENUE, "title": "Arcade", "supplies": supplies})))
    drawn = {"supply": "psu-1", "amps": 3.9, "highest_a": 4.0, "limiter_scale": 1.0, "wanted_a": 2.0, "charge_ah": 0.25}
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)

        def told(*, open_only: bool) -> bool:
            node.measure(supplies=[drawn])
            return bool(health.findings(VENUE, FindingFilter(open_only, FindingKind.OVERLOADED), None, 10))

        wait_until(lambda: told(open_only=True), 5, "the finding")
        (finding,) = health.findings(VENUE, FindingFilter(kind=FindingKind.OVERLOADED), None, 10)
        assert (finding.supply, finding.node) == ("psu-1", NODE)
        assert finding.evidence["amps"] == 3.9
        assert finding.evidence["budget_a"] == 3.2
        drawn["amps"] = 1.0
        wait_until(lambda: told(open_only=False), 5, "its end")


@on_each_database
def test_findings_come_in_pages_newest_first(engine: Engine, watch: Callable[[], Watched]) -> None:
    from hub.health.kinds import FindingKind
    from hub.health.table import FindingTable
    from tests.hub.health.invented_findings import invented_finding, store

    _, health = watch()
    table = FindingTable(engine)
    rows = [invented_finding(VENUE, FindingKind.SLOW, f"node-{n}", n) for n in range(5)]
    store(table, rows)
    first = health.findings(VENUE, FindingFilter(kind=FindingKind.SLOW), None, 2)
    assert [one.node for one in first] == ["node-4", "node-3"]
    assert [one.node for one in health.findings(VENUE, FindingFilter(), int(first[-1].id), 10)] == [
        "node-2",
        "node-1",
        "node-0",
    ]
    assert health.findings("other", FindingFilter(), None, 10) == []
