"""A board in simulated time: it says what a real agent says, when a real one would. Faults are put into it."""

import json
import math
import random
from collections.abc import Callable, Mapping
from typing import Any

from node_agent.link import LONGEST_WAIT_S, back_off_s
from schemas import Held, Leaf, Presence, Reported, node_topic
from tests.fleet.agenda import Agenda
from tests.fleet.broker import KEEPALIVE_S, Connection, SimulatedBroker
from tests.fleet.venue import VENUE, node_id, supply_id

INTERVAL_S = 5.0
JITTER = 0.1
START_S = 4.0
HASH = "0" * 64
VERSION = "0.1.0"


class SimulatedBoard:
    """`figures` and `board` are what its telemetry says beyond a healthy board's; change them to make it ill."""

    def __init__(self, number: int, agenda: Agenda, broker: SimulatedBroker, seed: int) -> None:
        self.node = node_id(number)
        self.supply = supply_id(number)
        self.figures: dict[str, Any] = {}
        self.board: dict[str, Any] = {}
        self.supply_figures: dict[str, Any] = {}
        self.loss_share: float | None = None
        self.errors_per_s = 0.0
        self.showing = 1
        self.connected = False
        self._agenda = agenda
        self._broker = broker
        self._chance = random.Random(seed)
        self._connection: Connection | None = None
        self._connected_s = -math.inf
        self._failures = 0
        self._boot_id = ""
        self._session = 0
        self._sequence = 0
        self._life = 0
        self._started_s = agenda.now_s
        self._starts = 3
        self._start_cause = "power"
        self._errors = 0.0
        self._charge_ah = 0.0

    def start(self, cause: str = "power") -> None:
        """A boot: a new boot id, sessions and counters begin anew; it connects."""
        self._boot_id = f"{self._chance.getrandbits(64):016x}"
        self._started_s = self._agenda.now_s
        self._starts += 1
        self._start_cause = cause
        self._sequence, self._errors, self._charge_ah = 0, 0.0, 0.0
        self.connect()

    def connect(self) -> None:
        """A connection of its own session, and birth."""
        self._life += 1
        self.connected = True
        self._connected_s = self._agenda.now_s
        self._session = (self._session + 1) % 256
        self._connection = Connection(
            self._topic(Leaf.PRESENCE), self._presence("offline"), self._asked, self._of_this_life(self.thrown_out)
        )
        self._broker.connect(self.node, self._connection)
        self._give_birth()
        self._speak_later(self._interval_s())

    def lose_power(self) -> None:
        """Not a word more; the broker tells of it when the keepalive has run out."""
        connection = self.cut()
        wait_s = 1.5 * KEEPALIVE_S - self._chance.uniform(0, INTERVAL_S)
        self._agenda.after(wait_s, lambda: self._broker.lose(self.node, connection))

    def restart(self, cause: str) -> None:
        """Its agent ends, and is started again: the system closes the connection, so the broker sees it at once."""
        self._broker.lose(self.node, self.cut())
        self._agenda.after(START_S, lambda: self.start(cause))

    def break_off(self) -> None:
        """The connection breaks, which broker and agent see at once; the agent connects anew."""
        self._broker.lose(self.node, self.cut())
        self._come_back()

    def thrown_out(self) -> None:
        """Another has connected under its name, or the broker is gone; the agent connects anew."""
        self.cut()
        self._come_back()

    def hang(self) -> None:
        """Its system holds the connection, and nothing is said."""
        self.cut()

    def cut(self) -> Connection:
        """Nothing of this life happens any more. Its connection, of which the broker may not know yet."""
        self._life += 1
        self.connected = False
        assert self._connection is not None
        return self._connection

    def _come_back(self) -> None:
        """With the waits of a real agent's link: only a connection that lasted starts them anew."""
        self._failures = 0 if self._agenda.now_s - self._connected_s > LONGEST_WAIT_S else self._failures + 1
        self._try_later()

    def _try_later(self) -> None:
        def again() -> None:
            if self._broker.up:
                self.connect()
            else:
                self._failures += 1
                self._try_later()

        self._agenda.after(back_off_s(self._failures, self._chance.uniform), self._of_this_life(again))

    def _of_this_life(self, work: Callable[[], None]) -> Callable[[], None]:
        life = self._life

        def in_it() -> None:
            if life == self._life:
                work()

        return in_it

    def _asked(self, payload: bytes) -> None:
        if self.connected and json.loads(payload)["question"]["kind"] == "rebirth":
            self._give_birth()

    def _give_birth(self) -> None:
        self._publish(Leaf.PRESENCE, self._presence("online"), retain=True)
        reported = Reported(
            boot_id=self._boot_id, session=self._session, showing=Held(revision=self.showing, sha256=HASH)
        )
        self._publish(Leaf.REPORTED, reported.model_dump_json().encode(), retain=True)
        self._speak()

    def _speak_later(self, wait_s: float) -> None:
        def speak() -> None:
            self._speak()
            self._speak_later(self._interval_s())

        self._agenda.after(wait_s, self._of_this_life(speak))

    def _speak(self) -> None:
        self._publish(Leaf.TELEMETRY, json.dumps(self._telemetry()).encode(), retain=False)
        self._sequence = (self._sequence + 1) % 256

    def _publish(self, leaf: Leaf, payload: bytes, *, retain: bool) -> None:
        self._broker.hear(self._topic(leaf), payload, retain=retain, loss_share=self.loss_share)

    def _topic(self, leaf: Leaf) -> str:
        return node_topic(VENUE, self.node, leaf)

    def _presence(self, state: str) -> bytes:
        words = {"state": state, "boot_id": self._boot_id, "session": self._session, "agent_version": VERSION}
        return Presence.model_validate_json(json.dumps(words)).model_dump_json().encode()

    def _interval_s(self) -> float:
        return INTERVAL_S * self._chance.uniform(1 - JITTER, 1 + JITTER)

    def _telemetry(self) -> Mapping[str, object]:
        """A healthy board's figures move a little, and now and then one stands out for a moment."""
        draw = self._chance.uniform
        uptime_s = self._agenda.now_s - self._started_s
        self._errors += self.errors_per_s * INTERVAL_S
        self._charge_ah = max(self._charge_ah, uptime_s * 2.0 / 3_600)
        slow_moment = self._chance.random() < 0.01
        amps = draw(1.2, 2.4)
        supply = {
            "supply": self.supply,
            "amps": amps,
            "highest_a": amps + 0.3,
            "limiter_scale": 1.0 if self._chance.random() > 0.02 else draw(0.9, 1.0),
            "wanted_a": amps + 0.3,
            "charge_ah": round(self._charge_ah, 6),
        }
        board = {
            "starts": self._starts,
            "start_cause": self._start_cause,
            "errors": int(self._errors),
            "processor_share": draw(0.2, 0.4),
            "memory_free_share": draw(0.4, 0.6),
            "disk_free_share": 0.6,
            "disk_read_only": False,
            "under_voltage": False,
            "throttled": False,
            "link": "wired",
            "reconnects": self._session,
        }
        return {
            "boot_id": self._boot_id,
            "session": self._session,
            "sequence": self._sequence,
            "uptime_s": uptime_s,
            "revision": self.showing,
            "frame_rate_hz": draw(45, 57) if slow_moment else draw(59.6, 60.0),
            "frame_rate_target_hz": 60.0,
            "late_frames": 0,
            "frames": int(uptime_s * 60),
            "render_ms": draw(0.2, 0.6),
            "temperature_c": draw(44, 52),
            "clock_offset_ms": draw(-2, 2),
            "clock_dispersion_ms": draw(0.2, 1.5),
            "clock_drift_ppm": draw(-20, 20),
            "clock_source": "hub",
            "wall_clock_disciplined": True,
            "supplies": [supply | self.supply_figures],
            "board": board | self.board,
            **self.figures,
        }
