"""A board in simulated time: it says what a real agent says, when a real one would. Faults are put into it."""

import json
import random
from collections.abc import Mapping
from typing import Any

from schemas import Held, Leaf, Presence, Reported, node_topic
from tests.fleet.agenda import Agenda
from tests.fleet.broker import KEEPALIVE_S, SimulatedBroker
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
        """As a client of the broker's: whoever was connected under its name before is cut off without a word."""
        self._life += 1
        self.connected = True
        self._session = (self._session + 1) % 256
        self._broker.boards[self.node] = self._asked
        self._give_birth()
        self._speak_later(self._life, self._interval_s())

    def lose_power(self) -> None:
        """Not a word more; the broker tells of it when the keepalive has run out."""
        will, life = self._presence("offline"), self._cut()
        wait_s = 1.5 * KEEPALIVE_S - self._chance.uniform(0, INTERVAL_S)
        self._agenda.after(wait_s, lambda: self._publish_will(will, life))

    def reboot(self, cause: str) -> None:
        """Its connection breaks at once, as the system closes it, and it comes up again."""
        self.break_off()
        self._agenda.after(START_S, lambda: self.start(cause))

    def break_off(self) -> None:
        """The connection breaks: the broker sees it at once."""
        will, life = self._presence("offline"), self._cut()
        self._publish_will(will, life)

    def hang(self) -> None:
        """Its system holds the connection, and nothing is said."""
        self._cut()

    def lose_broker(self) -> None:
        self._cut()

    def reconnect(self) -> None:
        if self._boot_id and not self.connected:
            self.connect()

    def _cut(self) -> int:
        self._life += 1
        self.connected = False
        return self._life

    def _publish_will(self, will: bytes, life: int) -> None:
        if life == self._life:
            self._broker.hear(self._topic(Leaf.PRESENCE), will, retain=True)

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

    def _speak_later(self, life: int, wait_s: float) -> None:
        def speak() -> None:
            if life == self._life:
                self._speak()
                self._speak_later(life, self._interval_s())

        self._agenda.after(wait_s, speak)

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
