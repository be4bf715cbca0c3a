"""The agent: holds the venue's word on one board. It shows what it holds before it has a network, and goes on without.

One thread runs `Agent.run` and owns what is held and reported; link and frame loop tell it through the inbox.
"""

import logging
import math
import secrets
import time
from typing import Final

from pydantic import ValidationError

from node_agent.board import Board
from node_agent.board_figures import BoardReader
from node_agent.clock import ShowClock
from node_agent.clock_keeper import LOOK_EVERY_S, ClockKeeper
from node_agent.frame_loop import FrameLoop
from node_agent.frames import MakeFrames
from node_agent.grants import Grants
from node_agent.holdings import Holdings
from node_agent.inbox import Connected, Disconnected, Event, Inbox, Oversized, ReachedWires, Received, Stopping, Taken
from node_agent.link import Link, MakeLink
from node_agent.questions import Questions
from node_agent.rejections import Rejections
from node_agent.store import Store
from node_agent.telemetry_pace import TelemetryPace
from node_agent.version import agent_version
from schemas import Answer, Leaf, NodeCredential, Presence, Reported, SupplyTelemetry, Take, Telemetry
from schemas.bounds import TELEMETRY_INTERVAL_S

REPORT_AFTER_S: Final = 0.02
"""Changes that follow one another within this time are reported in one."""

REST_AFTER_REFUSAL: Final = 4.0
LONGEST_REST_S: Final = 0.2

_log = logging.getLogger(__name__)


class Agent:
    """One board's agent. `inbox.put(Stopping(...))` from anywhere ends `run`."""

    def __init__(
        self,
        credential: NodeCredential,
        store: Store,
        board: Board,
        clock: ShowClock | None = None,
        make_frames: MakeFrames = FrameLoop,
        make_link: MakeLink = Link,
    ) -> None:
        self.inbox = Inbox()
        self._store = store
        self._boot_id = secrets.token_hex(8)
        self._version = agent_version()
        self._clock = clock or ShowClock()
        self._clock_keeper = ClockKeeper(self._clock, store)
        self._rejections = Rejections()
        self._frames = make_frames(
            self._clock, board, on_taken=self.inbox.put, on_wires=lambda number: self.inbox.put(ReachedWires(number))
        )
        self._grants = Grants(
            credential.venue, credential.node, self._boot_id, store, self._frames.obey, self._rejections
        )
        self._holdings = Holdings(
            credential.venue, credential.node, store, board, self._clock, self._frames, self._rejections
        )
        self._board_reader = BoardReader(store, store.folder, board.system)
        self._pace = TelemetryPace()
        self._questions = Questions(
            self._clock, self._frames, self._rejections, self._pace, self._give_birth, self._send_telemetry
        )
        self._link = make_link(credential, self.inbox, self._next_presence, self._clock.node_ms)
        self._presence: Presence | None = None
        self._session: int | None = None
        self._started_s = time.monotonic()
        self._sequence = 0
        self._report_due_s = math.inf
        self._telemetry_due_s = math.inf
        self._told_lost = False

    def run(self) -> None:
        """Returns once the agent was told to stop: offline is published and the pixels are dark."""
        self.start()
        try:
            while self.step(LOOK_EVERY_S):
                pass
        finally:
            self.end()

    def start(self) -> None:
        """What is held shows, before there is any network."""
        self._board_reader.begin()
        self._clock_keeper.restore()
        self._grants.restore()
        self._holdings.restore()
        self._link.start()

    @property
    def due_s(self) -> float:
        """When it has something to say by itself, by the monotonic clock."""
        return min(self._report_due_s, self._telemetry_due_s)

    def step(self, wait_s: float) -> bool:
        """Handles one event, waiting for it that long at most, and says what is due. False once it is to stop."""
        self._clock_keeper.tend()
        event = self.inbox.take(min(self.due_s - time.monotonic(), wait_s))
        if isinstance(event, Stopping):
            _log.info("stops: %s", event.reason)
            return False
        if event:
            self._handle_paced(event)
        self._publish_what_is_due()
        return True

    def end(self) -> None:
        """Offline is published, the pixels are dark, the time is kept."""
        self._link.stop()
        self._frames.stop()
        self._clock_keeper.keep()
        self._board_reader.end()

    def _handle_paced(self, event: Event) -> None:
        """After a message that was refused, rests for some times as long as it took: while messages are judged the
        frame loop cannot have the interpreter, and a flood of rubbish must not make its frames late."""
        refused, began_s = self._rejections.count, time.monotonic()
        self._handle(event)
        if self._rejections.count > refused:
            time.sleep(min(REST_AFTER_REFUSAL * (time.monotonic() - began_s), LONGEST_REST_S))

    def _handle(self, event: Event) -> None:
        match event:
            case Connected(session, broker_address):
                _log.info("connected, session %d", session)
                self._board_reader.connected(broker_address)
                self._told_lost = False
                self._session = session
                self._give_birth()
            case Disconnected(reason):
                self._session = None
                if not self._told_lost:
                    _log.warning("no connection: %s; what shows goes on, and the link tries again", reason)
                    self._told_lost = True
            case Received():
                self._receive(event)
            case Oversized(source):
                self._rejections.add(f"{source}: too large")
            case Taken():
                self._holdings.taken(event)
                self._clock_keeper.scene_began()
                self._report_soon()
                self._telemetry_due_s = min(self._telemetry_due_s, self._pace.next_due_s(self._desired_interval_s))
            case ReachedWires(number):
                if self._grants.reached_wires(number):
                    self._report_soon()

    def _receive(self, message: Received) -> None:
        match message.source:
            case "grant":
                if self._grants.receive(message.payload):
                    self._report_soon()
            case "desired":
                before = self._reported_state()
                self._holdings.receive(message.payload)
                if self._reported_state() != before:
                    self._report_soon()
            case "take":
                try:
                    take = Take.model_validate_json(message.payload)
                except ValidationError:
                    self._rejections.add("take: not a take")
                else:
                    self._holdings.take(take)
            case "ask":
                if answer := self._questions.answer(message, self._holdings.channels):
                    self._publish(Leaf.ANSWER, answer)

    def _reported_state(self) -> tuple[object, ...]:
        held = self._holdings
        return held.showing, held.staged, held.refusal

    def _next_presence(self) -> Presence:
        """Called by the link, on its thread, for each new session."""
        presence = Presence(
            state="online", boot_id=self._boot_id, session=self._store.next_session(), agent_version=self._version
        )
        self._presence = presence
        return presence

    def _give_birth(self) -> None:
        """Presence, reported and telemetry at once."""
        if self._presence:
            self._publish(Leaf.PRESENCE, self._presence, retain=True)
        self._report()
        self._send_telemetry()

    def _report_soon(self) -> None:
        self._report_due_s = min(self._report_due_s, time.monotonic() + REPORT_AFTER_S)

    def _publish_what_is_due(self) -> None:
        now_s = time.monotonic()
        if now_s >= self._report_due_s:
            self._report()
        if now_s >= self._telemetry_due_s:
            self._send_telemetry()

    def _report(self) -> None:
        self._report_due_s = math.inf
        if self._session is None:
            return  # the next birth tells all
        held = self._holdings
        reported = Reported(
            boot_id=self._boot_id,
            session=self._session,
            staged=held.staged,
            showing=held.showing,
            scene=held.scene,
            taken_at_ms=held.taken_at_ms,
            refusal=held.refusal,
            grant=self._grants.held,
            damaged_state=self._store.damaged_state,
        )
        self._publish(Leaf.REPORTED, reported, retain=True)

    @property
    def _desired_interval_s(self) -> float:
        return self._holdings.telemetry_interval_s or TELEMETRY_INTERVAL_S

    def _send_telemetry(self) -> None:
        """Figures gather while there is no connection; the first telemetry after it covers all of that time."""
        self._telemetry_due_s = self._pace.next_due_s(self._desired_interval_s)
        if self._session is None:
            return
        figures = self._frames.figures.interval()
        showing, period_s = self._holdings.showing, self._frames.period_s
        telemetry = Telemetry(
            boot_id=self._boot_id,
            session=self._session,
            sequence=self._sequence,
            uptime_s=round(time.monotonic() - self._started_s, 3),
            revision=showing.revision if showing else None,
            frame_rate_hz=round(figures.frame_rate_hz, 2),
            frame_rate_target_hz=round(1 / period_s, 2) if period_s else 0.0,
            frames=figures.frames,
            late_frames=figures.late_frames,
            render_ms=round(figures.render_ms, 3),
            supplies=tuple(
                SupplyTelemetry(
                    supply=supply.supply,
                    amps=round(supply.amps, 4),
                    highest_a=round(supply.highest_a, 4),
                    limiter_scale=round(supply.limiter_scale, 4),
                    wanted_a=round(supply.wanted_a, 4),
                    charge_ah=round(supply.charge_ah, 6),
                )
                for supply in figures.supplies
            ),
            temperature_c=self._board_reader.temperature_c(),
            clock_offset_ms=self._clock.offset_ms(),
            clock_dispersion_ms=self._clock.dispersion_ms(),
            clock_drift_ppm=self._clock.drift_ppm(),
            clock_source=self._clock.source,
            wall_clock_disciplined=self._clock.wall_disciplined,
            rejected_messages=self._rejections.count + self.inbox.dropped,
            board=self._board_reader.read(),
        )
        self._sequence = (self._sequence + 1) % 256
        self._publish(Leaf.TELEMETRY, telemetry, qos=0)

    def _publish(
        self, leaf: Leaf, message: Presence | Reported | Telemetry | Answer, *, retain: bool = False, qos: int = 1
    ) -> None:
        if self._session is not None:
            self._link.publish(self._session, leaf, message.model_dump_json(), retain=retain, qos=qos)
