"""A real agent process on a rehearsal board, with the hub's side of its topics at hand."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from node_agent.board import capture_file
from node_agent.outputs import CapturedFrame, OutputError, read_capture
from schemas import (
    Answer,
    Ask,
    Desired,
    Leaf,
    Presence,
    Refusal,
    Reported,
    Take,
    TakeTime,
    Telemetry,
    node_topic,
    take_topic,
)
from schemas.ask import Question
from schemas.topics import ROOT
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Peer
from tests.node_agent.documents import grant
from tests.processes import RealProcess, wait_until
from tests.warm_process import WarmProcess

RED, GREEN, BLUE = (255, 0, 0, 0), (0, 255, 0, 0), (0, 0, 255, 0)


def topic(leaf: Leaf, node: str = NODES[0]) -> str:
    return node_topic(VENUE, node, leaf)


class RunningAgent:
    """One node's folders, and its agent while it runs."""

    def __init__(self, broker: Broker, folder: Path, *options: str) -> None:
        self.state = folder / "state"
        self.captures = folder / "capture"
        self._log = folder / "agent.log"
        self._options = options
        credential = folder / "credential.json"
        credential.write_text(node_credential(broker, VENUE, NODES[0]).model_dump_json())
        credential.chmod(0o600)
        self._credential = credential
        self.process: RealProcess | None = None

    def start(self) -> RealProcess:
        words: list[str | Path] = ["stringcourse-node", "start", "--credential", self._credential]
        words += ["--state", self.state, "--capture", self.captures, *self._options]
        self.process = WarmProcess(words, self._log)
        return self.process

    def kill(self) -> None:
        """SIGKILL, as when the power goes."""
        assert self.process is not None
        self.process.kill()

    def output(self) -> str:
        return self._log.read_text()

    def frames(self, channel: int = 1) -> list[CapturedFrame]:
        """What went out on a channel so far."""
        path = capture_file(self.captures, channel)
        if not path.exists():
            return []
        try:
            return list(read_capture(path))
        except OutputError:
            wait_until(path.exists, 5)  # a full file is just being put aside for the next
            return list(read_capture(path))


class HubSide:
    """What the hub would say and hear."""

    def __init__(self, peer: Peer) -> None:
        self.peer = peer

    def grant(self, number: int, amps: float) -> None:
        """Of `supply-1`, made for the agent's present boot."""
        presence = self.presence()
        assert presence is not None
        made = grant(number, amps, boot_id=presence.boot_id)
        self.peer.publish(topic(Leaf.GRANT), made.model_dump_json(), retain=True)

    def holds(self, number: int) -> bool:
        reported = self.reported()
        return bool(reported and reported.grant and reported.grant.number == number)

    def obeys(self, number: int) -> bool:
        """Whether grant `number` is on the wires."""
        reported = self.reported()
        return bool(reported and reported.grant and reported.grant.number == number and reported.grant.on_wires)

    def publish_desired(self, document: Desired) -> None:
        """Grants more than any budget to an agent that holds no grant, so that the document's budgets are the limit."""
        reported = self.reported()
        if reported is None or reported.grant is None:
            self.grant(1, 100.0)
        self.peer.publish(topic(Leaf.DESIRED), document.model_dump_json(), retain=True)

    def publish_take(self, revision: int, in_s: float = 0.2, fade_ms: int = 0) -> int:
        at_ms = round((time.time() + in_s) * 1_000)
        self.peer.publish(take_topic(VENUE), Take(revision=revision, at_ms=at_ms, fade_ms=fade_ms).model_dump_json())
        return at_ms

    def ask(self, question: Question, correlation: str = "0123456789abcdef", expires_in_s: float = 5.0) -> None:
        expires_at_ms = round((time.time() + expires_in_s) * 1_000)
        ask = Ask(correlation=correlation, expires_at_ms=expires_at_ms, question=question)
        self.peer.publish(topic(Leaf.ASK), ask.model_dump_json())

    def answers(self) -> list[Answer]:
        return [Answer.model_validate_json(payload) for payload in self.peer.heard(topic(Leaf.ANSWER))]

    def reported(self) -> Reported | None:
        payload = self.peer.last(topic(Leaf.REPORTED))
        return Reported.model_validate_json(payload) if payload else None

    def presence(self) -> Presence | None:
        payload = self.peer.last(topic(Leaf.PRESENCE))
        return Presence.model_validate_json(payload) if payload else None

    def telemetry(self) -> list[Telemetry]:
        return [Telemetry.model_validate_json(payload) for payload in self.peer.heard(topic(Leaf.TELEMETRY))]

    def shows(self, revision: int) -> bool:
        reported = self.reported()
        return bool(reported and reported.showing and reported.showing.revision == revision)

    def refusal(self) -> Refusal | None:
        reported = self.reported()
        return reported.refusal if reported else None

    def has_staged(self, revision: int) -> bool:
        reported = self.reported()
        return bool(reported and reported.staged and reported.staged.revision == revision)

    def is_online(self) -> bool:
        presence = self.presence()
        return bool(presence and presence.state == "online")

    def bring_to_show(self, document: Desired) -> None:
        """Publishes with a take that is past, and waits until it shows."""
        take = TakeTime(at_ms=round(time.time() * 1_000))
        self.publish_desired(document.model_copy(update={"take": take}))
        wait_until(lambda: self.shows(document.revision), 10, f"revision {document.revision} to show")


@contextmanager
def hub_side(broker: Broker) -> Iterator[HubSide]:
    with Peer(broker) as peer:
        peer.subscribe(f"{ROOT}/{VENUE}/#")
        yield HubSide(peer)


def first_pixel(frame: CapturedFrame) -> tuple[int, ...]:
    """Its codes: red, green, blue, white."""
    return tuple(int(code) for code in frame.decode().codes[0])


def lit(frame: CapturedFrame) -> int:
    """How many pixels are lit."""
    return int(np.count_nonzero(frame.decode().codes.any(axis=1)))


def amps(frame: CapturedFrame) -> float:
    """Estimate of a channel of RGB pixels whose emitters draw alike, as those of `documents` do."""
    kind = frame.header.pixel_type
    return (float(frame.decode().codes.sum()) / 255 * kind.full_ma.red + frame.header.pixels * kind.idle_ma) / 1_000
