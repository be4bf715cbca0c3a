"""The hub's link and the fleet's state on a real broker: adoption, death, outage, hostile payloads."""

import itertools
import time

import pytest

from hub.fleet.clock import BURST, ClockExchanges
from hub.fleet.loop import FleetListener, FleetLoop
from hub.fleet.rebirth import Rebirth
from schemas import AskClock, Leaf, node_topic
from schemas.bounds import MAX_MESSAGE_BYTES
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.hostile import mutations
from tests.hub.conftest import RunningFleet, StartFleet
from tests.hub.fleet.test_loop import Recorder
from tests.hub.played_node import PlayedNode, telemetry
from tests.mqtt_peer import Peer
from tests.processes import wait_until

NODE = NODES[0]
FROM_NODE = (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY, Leaf.ANSWER)


def with_rebirth(loop: FleetLoop) -> list[FleetListener]:
    return [Rebirth(loop)]


def test_birth_and_reports_reach_the_state(broker: Broker, start_fleet: StartFleet) -> None:
    fleet = start_fleet()
    with PlayedNode(broker, NODE) as node:
        node.birth()
        node.report(scene="evening")
        node.measure()
        wait_until(lambda: fleet.node().telemetry, 5)
        state = fleet.node()
        assert state.online
        assert state.boot_id == node.boot_id
        assert state.reported is not None
        assert state.reported.scene == "evening"


def test_killed_node_is_known_dead_by_its_will_within_three_seconds(broker: Broker, start_fleet: StartFleet) -> None:
    fleet = start_fleet()
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        node.die()
        wait_until(lambda: not fleet.node().online, 3, "the will")
        assert fleet.node().died_at_s is not None


def test_old_sessions_will_does_not_kill_the_new_session(broker: Broker, start_fleet: StartFleet) -> None:
    fleet = start_fleet()
    with PlayedNode(broker, NODE, session=4) as old:
        old.birth()
        with PlayedNode(broker, NODE, session=5, boot_id=old.boot_id) as new:
            new.birth()
            wait_until(lambda: fleet.node().session == 5, 5)
            old.die()
            wait_until(lambda: fleet.loop.state.rejected["other-session-presence"] == 1, 5, "the old will, refused")
            assert fleet.node().online


def test_new_hub_adopts_running_nodes_by_asking_for_rebirth(broker: Broker, start_fleet: StartFleet) -> None:
    with PlayedNode(broker, NODE) as node:
        node.publish(Leaf.PRESENCE, node.presence("online"))  # not retained: nothing to find but by asking
        fleet = start_fleet(with_rebirth)
        wait_until(lambda: fleet.node().online, 5, "the node that was asked")


def test_gap_in_the_sequence_leads_to_a_rebirth(broker: Broker, start_fleet: StartFleet) -> None:
    fleet = start_fleet(with_rebirth)
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        asked = len(node.asks)
        node.measure()
        node.measure(sequence=17)
        wait_until(lambda: len(node.asks) > asked, 5, "the ask")
        wait_until(lambda: not fleet.node().needs_rebirth, 5, "the rebirth")
        assert fleet.node().sequence_gaps == 1


def test_node_that_does_not_answer_is_asked_ever_more_seldom(broker: Broker, start_fleet: StartFleet) -> None:
    start_fleet(with_rebirth)
    with PlayedNode(broker, NODE) as node:
        node.answers_rebirth = False
        until = time.monotonic() + 3
        while time.monotonic() < until:
            node.measure()
            time.sleep(0.02)  # the flood itself, not a wait
        assert 1 <= len(node.asks) <= 3


def test_clock_exchange_hands_back_all_four_stamps(broker: Broker, start_fleet: StartFleet) -> None:
    start_fleet(lambda loop: [ClockExchanges(loop)])
    with PlayedNode(broker, NODE) as node:
        node.birth()

        def handed_back() -> list[AskClock]:
            questions = [ask.question for ask in node.asks]
            return [one for one in questions if isinstance(one, AskClock) and one.completed is not None]

        wait_until(lambda: len(handed_back()) >= BURST, 10, "the burst and its last hand-back")
        sent = [ask.question for ask in node.asks if isinstance(ask.question, AskClock)]
        assert len(sent) == BURST + 1
        for earlier, later in itertools.pairwise(sent):
            completed = later.completed
            assert completed is not None
            assert completed.t1_ms == earlier.t1_ms
            assert (completed.t2_ms, completed.t3_ms) == (5.0, 6.0)
            assert 0 <= completed.t4_ms - completed.t1_ms < 1_000


def test_link_comes_back_after_a_broker_outage_and_delivers_what_is_retained(
    broker: Broker, start_fleet: StartFleet
) -> None:
    recorder = Recorder()
    fleet = start_fleet(lambda _loop: [recorder])
    broker.kill()
    wait_until(lambda: recorder.links == [True, False], 10, "the outage")
    topic = node_topic(VENUE, NODE, Leaf.DESIRED)
    for number in range(3):
        fleet.loop.publish(topic, f"document {number}".encode(), retain=True)
    fleet.loop.publish(node_topic(VENUE, NODE, Leaf.ASK), b"stale by then", retain=False)
    broker.start()
    wait_until(lambda: recorder.links == [True, False, True], 20, "the link's return")
    with Peer(broker) as peer:
        peer.subscribe("stringcourse/#")
        wait_until(lambda: peer.heard(topic), 5)
        assert peer.heard(topic) == [b"document 2"]
        assert not peer.heard(node_topic(VENUE, NODE, Leaf.ASK))
    with PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5, "words after the outage")


def test_unknown_nodes_and_venues_are_counted_logged_once_and_not_stored(
    broker: Broker, start_fleet: StartFleet, caplog: pytest.LogCaptureFixture
) -> None:
    fleet = start_fleet()
    with Peer(broker) as stranger, PlayedNode(broker, NODE) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        for number in range(300):
            stranger.publish(node_topic(VENUE, f"ghost-{number}", Leaf.PRESENCE), node.presence("online"), qos=0)
        stranger.publish(node_topic("other-venue", NODE, Leaf.PRESENCE), node.presence("offline"))
        wait_until(lambda: fleet.loop.state.rejected["unknown-node"] == 300, 5)
    assert set(fleet.loop.state.nodes) == {(VENUE, name) for name in NODES}
    assert caplog.text.count("kind=unknown-node") == 1


def hostile_payloads(count: int) -> list[bytes]:
    """Malformed and hostile in every way that we know: `count` of them, the same each time."""
    valid = telemetry().model_dump_json()
    fixed: list[bytes] = [
        b"",
        b"null",
        b"[]",
        b"{}",
        b"\x00\xff\xfe",
        b"\xed\xa0\x80",
        b'{"schema_version":1',
        b'{"schema_version":2}',
        b"[" * 8_000,
        b'{"a":' * 3_000 + b"1" + b"}" * 3_000,
        b"1" * (MAX_MESSAGE_BYTES - 1),
        b" " * (MAX_MESSAGE_BYTES + 1),
        b'"' + b"A" * 400_000 + b'"',
        valid.replace('"frames":600', '"frames":-1').encode(),
        valid.replace('"frames":600', '"frames":1e400').encode(),
        valid.replace('"frames":600', '"frames":NaN').encode(),
        valid.replace('"frames":600', '"frames":"600"').encode(),
        valid.replace('"frames":600', '"frames":' + "9" * 5_000).encode(),
        valid.replace('"session":1', '"session":256').encode(),
        valid.replace('"boot_id":"0123456789abcdef"', '"boot_id":"../../etc"').encode(),
        valid.replace("{", '{"extra":1,', 1).encode(),
        b'{"state":"online","boot_id":"aaaaaaaa","session":1,"agent_version":"\\u001b[2J"}',
        b'{"state":"dead","boot_id":"aaaaaaaa","session":1,"agent_version":"1"}',
        b'{"state":"offline","boot_id":"deadbeef","session":3,"agent_version":"1"}',
        b'{"boot_id":"deadbeef","session":3}',
        b'{"correlation":"zz","answer":{"kind":"done"}}',
        b'{"correlation":"aaaaaaaa","answer":{"kind":"clock","t1_ms":1e300,"t2_ms":0,"t3_ms":0}}',
        telemetry(boot_id="deadbeef", session=9).model_dump_json().encode(),
    ]
    return fixed + mutations(valid, count - len(fixed))


@pytest.mark.parametrize("leaf", FROM_NODE)
def test_two_thousand_hostile_payloads_change_nothing(
    broker: Broker, start_fleet: StartFleet, leaf: Leaf, caplog: pytest.LogCaptureFixture
) -> None:
    fleet = start_fleet(with_rebirth)
    with PlayedNode(broker, NODE) as node:
        node.birth()
        node.report(scene="evening")
        node.measure()
        wait_until(lambda: fleet.node().telemetry and fleet.node().reported, 5)
        node.answers_rebirth = False
        before = state_of(fleet)
        counted_before = fleet.loop.state.rejected.total()
        payloads = hostile_payloads(2_000)
        for payload in payloads[:-1]:
            node.publish(leaf, payload, qos=0)
        node.publish(leaf, payloads[-1])
        wait_until(lambda: fleet.loop.state.rejected.total() - counted_before == 2_000, 20, "every one to be counted")
        assert state_of(fleet) == before
        logged = [record for record in caplog.records if record.getMessage().startswith("message refused")]
        kinds = [kind for kind, count in fleet.loop.state.rejected.items() if count]
        assert len(logged) == len(kinds)
        node.measure()
        wait_until(lambda: fleet.node().next_sequence == 2, 5, "the node's next word, heard as before")


def state_of(fleet: RunningFleet) -> dict[str, object]:
    """What hostile words must not change; when the node was last heard is no part of it."""
    node = fleet.node()
    fields = ("online", "presence", "boot_id", "session", "reported", "telemetry", "next_sequence", "sequence_gaps")
    return {field: getattr(node, field) for field in fields}
