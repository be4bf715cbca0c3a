"""A person's questions to a node: answered, declined, unanswered; by the node that was asked and no other."""

import json
import threading

import pytest

from hub.errors import ConflictError, NotFoundError, UnavailableError
from hub.fleet.asks import AskService
from schemas import AskIdentify, Done, Leaf
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.hub.conftest import RunningFleet, StartFleet
from tests.hub.played_node import PlayedNode
from tests.processes import wait_until

IDENTIFY = AskIdentify(kind="identify")


@pytest.fixture
def asks() -> list[AskService]:
    return []


@pytest.fixture
def fleet(start_fleet: StartFleet, asks: list[AskService]) -> RunningFleet:
    def listeners(loop: object) -> list[AskService]:
        asks.append(AskService(loop))  # type: ignore[arg-type]
        return asks

    return start_fleet(listeners)


def answer_to(node: PlayedNode, answer: dict[str, str]) -> None:
    """Wait for a person's question and answer it."""
    wait_until(lambda: [ask for ask in node.asks if ask.question.kind == "identify"], 5, "the question")
    correlation = node.asks[-1].correlation
    node.publish(Leaf.ANSWER, json.dumps({"correlation": correlation, "answer": answer}))


def ask_in_background(asks: list[AskService]) -> tuple[threading.Thread, list[object]]:
    result: list[object] = []

    def ask() -> None:
        try:
            result.append(asks[0].ask(VENUE, NODES[0], IDENTIFY))
        except (ConflictError, UnavailableError) as error:
            result.append(error)

    thread = threading.Thread(target=ask)
    thread.start()
    return thread, result


@pytest.mark.parametrize(
    ("answer", "declined"), [({"kind": "done"}, False), ({"kind": "declined", "reason": "no such channel"}, True)]
)
def test_answer_comes_back_to_the_caller(
    broker: Broker, fleet: RunningFleet, asks: list[AskService], answer: dict[str, str], declined: bool
) -> None:
    with PlayedNode(broker, NODES[0]) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        thread, result = ask_in_background(asks)
        answer_to(node, answer)
        thread.join(10)
    if declined:
        assert isinstance(result[0], ConflictError)
        assert "no such channel" in result[0].detail
    else:
        assert isinstance(result[0], Done)


def test_answer_of_another_node_counts_for_nothing(broker: Broker, fleet: RunningFleet, asks: list[AskService]) -> None:
    with PlayedNode(broker, NODES[0]) as node, PlayedNode(broker, NODES[1]) as other:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        thread, result = ask_in_background(asks)
        wait_until(lambda: [ask for ask in node.asks if ask.question.kind == "identify"], 5)
        forged = {"correlation": node.asks[-1].correlation, "answer": {"kind": "declined", "reason": "forged"}}
        other.publish(Leaf.ANSWER, json.dumps(forged))
        wait_until(lambda: fleet.node(NODES[1]).answer, 5, "the forged answer to arrive")
        assert result == []
        answer_to(node, {"kind": "done"})
        thread.join(10)
    assert isinstance(result[0], Done)


def test_node_that_does_not_answer_is_told_in_time(broker: Broker, fleet: RunningFleet, asks: list[AskService]) -> None:
    with PlayedNode(broker, NODES[0]) as node:
        node.birth()
        wait_until(lambda: fleet.node().online, 5)
        with pytest.raises(UnavailableError, match="did not answer within 5 s"):
            asks[0].ask(VENUE, NODES[0], IDENTIFY)


def test_node_that_is_off_or_unknown_is_not_asked(fleet: RunningFleet, asks: list[AskService]) -> None:
    with pytest.raises(ConflictError, match="not connected"):
        asks[0].ask(VENUE, NODES[0], IDENTIFY)
    with pytest.raises(NotFoundError):
        asks[0].ask(VENUE, "bay-99", IDENTIFY)
    assert fleet.loop.state.rejected.total() == 0
