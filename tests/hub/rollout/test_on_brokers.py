"""Rollouts over each real broker, with the hub's real link, loop and database."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from hub.database import migrate, open_engine
from hub.events.bus import EventBus
from hub.fleet.loop import FleetListener, FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.link.link import Link
from hub.rollout import RolloutService, RolloutTiming, RolloutView
from hub.rollout.flash_guard import FlashFound
from hub.rollout.models import RolloutState
from schemas import Desired, Leaf, Scene, Venue, node_topic
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.hub.conftest import address_of
from tests.hub.desired.venues import renamed, row_venue
from tests.hub.rollout.conftest import HeldVenues
from tests.hub.rollout.live_board import LiveBoard
from tests.mqtt_peer import Peer
from tests.processes import wait_until

TIMING = RolloutTiming(answer_s=3.0, margin_s=0.3, settle_s=0.5, longest_settle_s=2.0)


def _venue() -> Venue:
    return renamed(row_venue(nodes=2), {"bay-0001": NODES[0], "bay-0002": NODES[1]})


@dataclass
class Hub:
    """The hub's part of a rollout, running."""

    rollouts: RolloutService
    loop: FleetLoop

    def ended(self, revision: int) -> RolloutView:
        def look() -> RolloutView | None:
            view = self.rollouts.rollout(VENUE, revision)
            return view if view.state is not RolloutState.STAGING else None

        view = wait_until(look, 15.0, f"revision {revision} to end")
        assert view is not None
        return view

    def opened(self) -> int:
        wait_until(lambda: self.rollouts.page(VENUE, None, 1), 15.0, "the first rollout")
        revision = self.rollouts.page(VENUE, None, 1)[0].revision
        self.ended(revision)
        self.wait_until_free()
        return revision

    def wait_until_free(self) -> None:
        wait_until(lambda: self.rollouts.under_way(VENUE) is None, 5.0, "the take time to pass")


def no_flashes(_venue: Venue, _scene: Scene) -> FlashFound:
    return FlashFound(fails=False, summary="passes", slow_down=1.0)


@contextmanager
def running_hub(
    broker: Broker, database: Path, watch: Callable[[RolloutService], FleetListener] | None = None
) -> Iterator[Hub]:
    with ExitStack() as parts:
        engine = open_engine(f"sqlite:///{database}")
        parts.callback(engine.dispose)
        migrate(engine)
        venue = _venue()
        loop = FleetLoop()
        rollouts = RolloutService(engine, HeldVenues(venue), loop, EventBus(), 5.0, no_flashes, TIMING)
        link = Link(address_of(broker), loop.inbox, loop.link_changed)
        loop.attach(link)
        loop.add_listener(Rebirth(loop))
        loop.add_listener(rollouts)
        if watch is not None:
            loop.add_listener(watch(rollouts), ())
        loop.set_roster(VENUE, [node.id for node in venue.nodes])
        for part in (rollouts, loop, link):
            part.start()
            parts.callback(part.stop)
        wait_until(lambda: link.connected, 10, "the link")
        yield Hub(rollouts, loop)


def _boards(broker: Broker) -> list[LiveBoard]:
    return [LiveBoard(node_credential(broker, VENUE, node)) for node in NODES]


def _shows(revision: int, *boards: LiveBoard) -> None:
    def shown() -> bool:
        return all(one.board.showing is not None and one.board.showing.revision == revision for one in boards)

    wait_until(shown, 10.0, f"revision {revision} on every board")


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return tmp_path / "hub.sqlite3"


def test_take_reaches_boards_over_each_broker_and_is_kept_for_those_who_come_later(
    each_broker: Broker, database: Path
) -> None:
    first, second = _boards(each_broker)
    with first, second, running_hub(each_broker, database) as hub:
        hub.opened()
        revision = hub.rollouts.take(VENUE, "full-white", 0).revision
        view = hub.ended(revision)
        assert (view.state, view.nodes_staged) == (RolloutState.TAKEN, 2)
        _shows(revision, first, second)
        with Peer(each_broker) as peer:
            topic = node_topic(VENUE, NODES[0], Leaf.DESIRED)
            peer.subscribe(topic)

            def kept() -> bool:
                payload = peer.last(topic)
                desired = None if payload is None else Desired.model_validate_json(payload)
                return desired is not None and desired.take is not None and desired.take.at_ms == view.take_at_ms

            wait_until(kept, 5.0, "the retained document to carry the take")


def test_refusal_over_each_broker_changes_nothing_anywhere(each_broker: Broker, database: Path) -> None:
    first, second = _boards(each_broker)
    second.board.refuses_scene = "full-white"
    with first, second, running_hub(each_broker, database) as hub:
        in_force = hub.opened()
        _shows(in_force, first, second)
        view = hub.ended(hub.rollouts.take(VENUE, "full-white").revision)
        assert view.state is RolloutState.HALTED
        assert [refusal.node for refusal in view.refusals] == [NODES[1]]
        assert [one.board.shown for one in (first, second)] == [[in_force], [in_force]]


def test_board_that_was_off_catches_up_from_what_the_broker_kept(each_broker: Broker, database: Path) -> None:
    first, second = _boards(each_broker)
    with first, running_hub(each_broker, database) as hub:
        with second:
            _shows(hub.opened(), first, second)
        wait_until(lambda: not hub.loop.state.nodes[VENUE, NODES[1]].online, 5.0, "the board to be known as off")
        revision = hub.rollouts.take(VENUE, "full-white").revision
        assert hub.ended(revision).nodes_expected == 1
        with second:
            _shows(revision, first, second)


def test_restarted_hub_re_adopts_what_runs(each_broker: Broker, database: Path) -> None:
    first, second = _boards(each_broker)
    with first, second:
        with running_hub(each_broker, database) as hub:
            revision = hub.opened()
            _shows(revision, first, second)
        with running_hub(each_broker, database) as hub:
            assert hub.rollouts.desired_revision(VENUE, NODES[0]) == revision
            wait_until(
                lambda: hub.loop.state.nodes[VENUE, NODES[0]].online and hub.loop.state.nodes[VENUE, NODES[1]].online,
                10.0,
                "every board to be heard",
            )
            hub.wait_until_free()
            assert [view.revision for view in hub.rollouts.page(VENUE, None, 5)] == [revision]
            assert hub.ended(hub.rollouts.take(VENUE, "full-white").revision).nodes_staged == 2
        assert [len(one.board.shown) for one in (first, second)] == [2, 2]


def test_broker_killed_while_staging_halts_and_the_documents_in_force_stand_again(
    broker: Broker, database: Path
) -> None:
    first, second = _boards(broker)
    with first, second, running_hub(broker, database) as hub:
        in_force = hub.opened()
        _shows(in_force, first, second)
        second.board.deaf = True
        revision = hub.rollouts.take(VENUE, "full-white").revision
        broker.kill()
        assert hub.ended(revision).state is RolloutState.HALTED
        second.board.deaf = False
        broker.start()
        with Peer(broker) as peer:
            topic = node_topic(VENUE, NODES[0], Leaf.DESIRED)
            peer.subscribe(topic)

            def stands() -> bool:
                payload = peer.last(topic)
                return payload is not None and Desired.model_validate_json(payload).revision == in_force

            wait_until(stands, 15.0, "the document in force on the broker that came back empty")
        assert [one.board.shown for one in (first, second)] == [[in_force], [in_force]]
