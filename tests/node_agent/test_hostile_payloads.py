"""Whatever arrives on a node's topics: the agent goes on, shows what it showed, and counts."""

from functools import partial

import pytest

from schemas import (
    Ask,
    AskIdentify,
    AskRebirth,
    Leaf,
    Take,
    TakeTime,
    take_topic,
)
from schemas.bounds import MAX_DESIRED_BYTES, MAX_MESSAGE_BYTES
from tests.conftest import NODES, VENUE
from tests.hostile import mutations
from tests.node_agent.documents import body, desired, grant
from tests.node_agent.running_agent import RED, HubSide, RunningAgent, first_pixel, topic
from tests.processes import wait_until


def _hostile_payloads() -> list[tuple[str, bytes]]:
    valid = desired(9, body("#00ff00"), take=TakeTime(at_ms=1)).model_dump_json()
    own = topic(Leaf.DESIRED), topic(Leaf.ASK), take_topic(VENUE)
    bad: list[bytes] = [
        b"",
        b"null",
        b"[]",
        b'"text"',
        b"{",
        b"\xff\xfe\x00",
        b'{"a":' * 5_000,
        b"[" * 10_000 + b"]" * 10_000,
        b"1" * 15_000,
        b'{"schema_version":2}',
        b'{"revision":1e400,"at_ms":0}',
        b'{"revision":true,"at_ms":"now","schema_version":1}',
        b'{"revision":99,"at_ms":-5}',
        b'{"revision":"../../etc/passwd","at_ms":1}',
        b'{"schema_version":1,"correlation":"zz","expires_at_ms":1,"question":{"kind":"clock","t1_ms":0}}',
        b'{"schema_version":1,"correlation":"0123456789abcdef","expires_at_ms":9007199254740991,'
        b'"question":{"kind":"walk","channel":9}}',
    ]
    payloads = [(name, payload) for name in own for payload in bad]
    payloads += [(name, b"x" * (MAX_MESSAGE_BYTES + 1)) for name in own[1:]]
    payloads += [
        (own[0], b"x" * (MAX_DESIRED_BYTES + 1)),
        (own[0], valid.replace(NODES[0], NODES[1]).encode()),
        (own[0], valid.replace(f'"{VENUE}"', '"another"').encode()),
        (own[0], valid.replace("#00ff00", "#00ff01").encode()),
        (own[0], valid.replace('"opacity":1.0', '"opacity":7').encode()),
        (own[0], valid.replace('"showing":', '"show\\u001b[31m":').encode()),
        (own[0], desired(1, body("#00ff00"), take=TakeTime(at_ms=1)).model_dump_json().encode()),
    ]
    return payloads


def _counted(hub: HubSide, number: int) -> bool:
    told = hub.telemetry()
    return bool(told) and told[-1].rejected_messages == number


@pytest.mark.parametrize("source", ["desired", "grant", "ask", "take"])
def test_two_thousand_hostile_payloads_a_topic_change_nothing(source: str, agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(2))
    later = TakeTime(at_ms=1)
    question = Ask(correlation="a" * 16, expires_at_ms=2**53 - 1, question=AskIdentify(kind="identify"))
    name, valid = {
        "desired": (topic(Leaf.DESIRED), desired(9, body("#00ff00"), take=later).model_dump_json()),
        "grant": (topic(Leaf.GRANT), grant(9, 0.1).model_dump_json()),
        "ask": (topic(Leaf.ASK), question.model_dump_json()),
        "take": (take_topic(VENUE), Take(revision=9, at_ms=1).model_dump_json()),
    }[source]
    payloads = mutations(valid, 2_000)
    # In parts: a broker drops what it cannot hold for a subscriber at QoS 0, and all are to arrive.
    for number, payload in enumerate(payloads, start=1):
        hub.peer.publish(name, payload, qos=0)
        if number % 200 == 0:
            wait_until(partial(_counted, hub, number), 20, f"{number} to be counted")
    assert hub.shows(2)
    reported = hub.reported()
    assert reported is not None
    assert reported.staged is None
    assert hub.holds(1)
    assert {first_pixel(frame) for frame in agent.frames()} == {RED}
    assert agent.process is not None
    assert agent.process.exit_code is None
    logged = [line.partition("refused a message (")[2].partition(")")[0] for line in agent.output().splitlines()]
    kinds = [kind for kind in logged if kind]
    assert kinds
    assert len(kinds) == len(set(kinds)), "each kind is logged once"


def test_hostile_payloads_change_nothing_and_are_counted(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(2))
    payloads = _hostile_payloads()
    for _ in range(3):
        for name, payload in payloads:
            hub.peer.publish(name, payload)
    hub.ask(AskRebirth(kind="rebirth"), "f" * 16)
    wait_until(lambda: any(answer.correlation == "f" * 16 for answer in hub.answers()), 20)
    wait_until(lambda: hub.telemetry()[-1].rejected_messages == 3 * len(payloads), 10)
    assert hub.shows(2)
    assert {frame.revision for frame in agent.frames()} == {2}
    assert {first_pixel(frame) for frame in agent.frames()} == {RED}
    reported = hub.reported()
    assert reported is not None
    assert reported.staged is None
    assert agent.process is not None
    assert agent.process.exit_code is None
    refused = [line for line in agent.output().splitlines() if "refused" in line]
    assert 0 < len(refused) < 20, "each kind is logged once"
    assert "\x1b" not in agent.output()
