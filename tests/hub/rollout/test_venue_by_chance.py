"""One venue's rollouts by chance, over the real machine, rows and database.

Messages are lost, repeated and late; boards come, go, refuse and fall silent; people meddle; the hub is killed.

Time and messages are the test's: no thread runs. What must hold at every step is that no board shows a revision that
the hub did not decide for it, and at the end that every board shows what it is to show and nothing is under way.
"""

from collections import deque
from collections.abc import Iterable

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sqlalchemy import create_engine
from sqlalchemy.pool import StaticPool
from sqlmodel import SQLModel

from hub.errors import ConflictError, UnavailableError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.rollout.flash_guard import FlashFound
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import UNDER_WAY, Conduct, Rollout, RolloutState
from hub.rollout.plan import RolloutPlan
from hub.rollout.preparing import Preparer
from hub.rollout.store import RolloutStore
from hub.rollout.undertaking import Undertaking
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.venues import Venues
from hub.rollout.view import batches_from, takes_from
from schemas import Leaf, Take, Venue, parse_node_topic, take_topic
from tests.hub.desired.venues import row_venue
from tests.hub.rollout.boards import Board
from tests.hub.rollout.conftest import HeldVenues

VENUE = row_venue(nodes=4, pixels=2)
NODES = tuple(node.id for node in VENUE.nodes)
SCENES = ("dusk", "full-white", None)
TIMING = RolloutTiming(settle_s=0.0, longest_settle_s=0.0)
BATCHES: tuple[tuple[tuple[str, ...], ...], ...] = (
    (),
    (NODES[:1], NODES[1:]),
    (NODES[:1], NODES[1:3], NODES[3:]),
    (NODES[1:2],),
    (NODES[2:3], NODES[:2]),
)


def _passes(_venue: Venue, _scene: object) -> FlashFound:
    return FlashFound(fails=False, summary="passes", slow_down=None)


class Wire:
    """What the hub publishes: retained documents, and messages on their way to boards, which may be lost."""

    def __init__(self) -> None:
        self.retained: dict[str, bytes] = {}
        self.under_way: deque[tuple[str, bytes]] = deque()

    def watch(self, venues: Iterable[str]) -> None:
        pass

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        if retain:
            self.retained[topic] = payload
        self.under_way.append((topic, payload))


class VenueByChance(RuleBasedStateMachine):
    """A hub's rollout half on a database in memory, and four boards."""

    def __init__(self) -> None:
        super().__init__()
        self.now_s = 1_000_000.0
        self.engine = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
        SQLModel.metadata.create_all(self.engine)
        self.store = RolloutStore(self.engine)
        self.boards = {node: Board(VENUE.id, node) for node in NODES}
        self.wire = Wire()
        self._open()

    def _open(self) -> None:
        """A hub on what the database holds."""
        self.fleet = FleetLoop(lambda: self.now_s)
        self.fleet.attach(self.wire)
        self.fleet.state.set_roster(VENUE.id, NODES)
        self.preparer = Preparer(self.store, 5.0, _passes)
        inventory = HeldVenues(VENUE)
        self.venues = Venues(self.store, inventory, self.fleet, EventBus(), TIMING, self.preparer)
        self.rollouts: VenueRollouts = self.venues.adopt(VENUE.id)
        self.venues.link_changed(True, self.now_s)
        self.venues.tick(self.now_s)

    @initialize(off=st.sets(st.sampled_from(NODES), max_size=2))
    def opens(self, off: set[str]) -> None:
        for board in self.boards.values():
            board.online = True
            self._says(board.node)
        self.begins(RolloutPlan(scene="dusk"), (), Conduct.STRICT, instead=False, steps=6)
        for node in off:
            self.comes_or_goes(node, online=False)

    @rule(steps=st.integers(1, 8))
    def goes_well(self, steps: int) -> None:
        for _ in range(steps):
            self.messages_arrive(1_000, lost=False, twice=False)
            self.time_passes(0.4)

    @rule(
        plan=st.builds(
            RolloutPlan,
            scene=st.sampled_from(SCENES),
            soak_s=st.sampled_from([0.0, 2.0]),
            failures_share=st.sampled_from([0.0, 0.5]),
            on_failure=st.sampled_from(["revert", "hold"]),
            wait_for_go=st.sampled_from([False, False, True]),
        ),
        batches=st.sampled_from(BATCHES),
        conduct=st.sampled_from([Conduct.STRICT, Conduct.STRICT, Conduct.AT_ONCE]),
        instead=st.booleans(),
        steps=st.integers(0, 20),
    )
    def begins(
        self, plan: RolloutPlan, batches: tuple[tuple[str, ...], ...], conduct: Conduct, instead: bool, steps: int
    ) -> None:
        selected = [node for batch in batches for node in batch] or NODES
        standing, now_ms = self.rollouts.standing, round(self.now_s * 1_000)
        if len(selected) < len(NODES) and standing.in_force is None:
            return
        base = self.venues.base(VENUE, standing.in_force, now_ms)
        part = len(selected) < len(NODES)
        kept = base.taken_on(selected, plan.scene, now_ms) if part else base.taken(plan.scene, now_ms)
        at_once = conduct is Conduct.AT_ONCE and not part
        what = Undertaking(
            self.preparer.prepared(VENUE, kept),
            0,
            conduct=conduct if at_once else Conduct.STRICT,
            plan=None if at_once else plan,
            batches=() if at_once else batches,
        )
        try:
            self.rollouts.begin(what, self.now_s, instead="at once" if instead and at_once else None)
        except ConflictError:
            assert self.rollouts.running is not None or self.rollouts.standing.ahead
        self.goes_well(steps)

    @rule(node=st.sampled_from(NODES), online=st.booleans())
    def comes_or_goes(self, node: str, online: bool) -> None:
        board = self.boards[node]
        if online and not board.online:
            board.online = True
            topic = f"stringcourse/v1/{VENUE.id}/node/{node}/desired"
            board.desired(self.wire.retained.get(topic, b""))
        board.online = online
        self._says(node)

    @rule(node=st.sampled_from(NODES), scene=st.sampled_from([None, "dusk", "full-white"]), deaf=st.booleans())
    def is_fussy(self, node: str, scene: str | None, deaf: bool) -> None:
        self.boards[node].refuses_scene, self.boards[node].deaf = scene, deaf

    @rule(messages=st.integers(1, 30), lost=st.booleans(), twice=st.booleans())
    def messages_arrive(self, messages: int, lost: bool, twice: bool) -> None:
        for _ in range(min(messages, len(self.wire.under_way))):
            topic, payload = self.wire.under_way.popleft()
            for _ in range(0 if lost else 1 + twice):
                self._arrives(topic, payload)

    @rule(seconds=st.floats(0.05, 3.0))
    def time_passes(self, seconds: float) -> None:
        self.now_s += seconds
        self.venues.tick(self.now_s)

    @rule(word=st.sampled_from(["pause", "resume", "go", "halt", "revert"]))
    def is_told(self, word: str) -> None:
        running = self.rollouts.running
        if running is None:
            return
        try:
            match word:
                case "pause":
                    self.rollouts.pause(running.revision, self.now_s)
                case "resume":
                    self.rollouts.resume(running.revision, self.now_s)
                case "go":
                    self.rollouts.go(running.revision, self.now_s)
                case _:
                    self.rollouts.halt(running.revision, "somebody", self.now_s, revert=word == "revert")
        except (ConflictError, UnavailableError):
            pass

    @rule()
    def hub_is_killed(self) -> None:
        self._open()
        for node in NODES:
            if self.boards[node].online:
                self._says(node)

    @invariant()
    def everything_is_accounted_for(self) -> None:
        rows = {row.revision: row for row in self.store.page(VENUE.id, None, 500)}
        for node, board in self.boards.items():
            assert board.staged is None or board.staged.revision in rows
            if board.showing is not None:
                row = rows[board.showing.revision]
                assert row.state is RolloutState.TAKEN or node in _taken_for(row), (
                    "it shows what was not decided for it"
                )
        standing = self.rollouts.standing
        ahead = {one.revision for one in standing.ahead.values()}
        assert len(ahead) <= 1
        for revision in ahead:
            assert rows[revision].state in (*UNDER_WAY, RolloutState.HALTED)
            assert set(standing.ahead) == _taken_for(rows[revision])
        assert len([row for row in rows.values() if row.state in UNDER_WAY]) <= 1

    def teardown(self) -> None:
        """Left alone with all boards on and willing, it ends, and every board shows what it is to show."""
        for node, board in self.boards.items():
            board.online, board.deaf, board.refuses_scene = True, False, None
            self._says(node)
        for _ in range(400):
            self.is_told("resume")
            self.is_told("go")
            self.time_passes(0.5)
            while self.wire.under_way:
                self._arrives(*self.wire.under_way.popleft())
            if self.rollouts.idle:
                break
        assert self.rollouts.running is None
        wanted = self.rollouts.standing.wanted()
        assert {node: board.showing for node, board in self.boards.items()} == {
            node: wanted.get(node) for node in NODES
        }
        self.everything_is_accounted_for()
        self.engine.dispose()

    def _arrives(self, topic: str, payload: bytes) -> None:
        if topic == take_topic(VENUE.id):
            take = Take.model_validate_json(payload)
            heard = [node for node, board in self.boards.items() if board.online]
            for node in heard:
                self.boards[node].take(take.revision)
        else:
            parsed = parse_node_topic(topic)
            assert parsed is not None
            heard = [parsed.node] if self.boards[parsed.node].online else []
            for node in heard:
                self.boards[node].desired(payload)
        for node in heard:
            self._says(node)

    def _says(self, node: str) -> None:
        board, state = self.boards[node], self.fleet.state.nodes[VENUE.id, node]
        state.online = board.online
        if board.online:
            state.reported = board.reported()
        leaf = Leaf.REPORTED if board.online else Leaf.PRESENCE
        self.rollouts.node_changed(state, leaf, self.now_s)


def _taken_for(row: Rollout) -> set[str]:
    batches = batches_from(row.batches) or (NODES,)
    return {node for batch in batches[: len(takes_from(row.takes_ms))] for node in batch}


TestVenueByChance = VenueByChance.TestCase
TestVenueByChance.settings = settings(max_examples=25, stateful_step_count=30)
