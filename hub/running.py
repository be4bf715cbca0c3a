"""A running hub: every service made, connected and started in order, and stopped in the reverse order."""

from contextlib import ExitStack

from hub.api.tokens import TokenService
from hub.app import Hub
from hub.audit.service import AuditService
from hub.broker.address import BrokerAddress, parse_broker_url
from hub.broker.credentials import CredentialService
from hub.broker.embedded import EmbeddedBroker
from hub.broker.reach import address_for_boards
from hub.budgets import BudgetService
from hub.controls import ControlService
from hub.cues import CueService
from hub.data_folder import DataFolder
from hub.database import open_database
from hub.energy import EnergyService
from hub.events.bus import EventBus
from hub.fault_finding.gathering import Gathering
from hub.fault_finding.service import FaultFindingService
from hub.fleet.asks import AskService
from hub.fleet.clock import ClockExchanges
from hub.fleet.lifeline import Lifeline
from hub.fleet.loop import FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.fleet.roster import Roster
from hub.fleet.views import NodeViews
from hub.health.service import HealthService
from hub.history import HistoryService
from hub.inventory.service import InventoryService
from hub.lasting import collect_seldom
from hub.link.link import Link
from hub.link.retained import RetainedLooks
from hub.load import LoadService
from hub.metrics import MetricsService
from hub.notify import LoopPulse, NotifyService
from hub.readiness import ReadinessService
from hub.rollout.dry_run_service import DryRunService
from hub.rollout.service import RolloutService
from hub.scenes.flash.service import FlashService
from hub.scenes.flash.store import FlashStore
from hub.scenes.service import SceneService
from hub.settings import Settings
from hub.timetable.service import TimetableService
from schemas import Leaf


class RunningHub:
    """From `start` to `stop`. `hub` holds the services for the application; `broker` is None with the user's own."""

    hub: Hub
    broker: EmbeddedBroker | None
    folder: DataFolder

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._parts = ExitStack()

    def start(self) -> None:
        """Raises a HubError that names the remedy when a part cannot start; nothing runs then."""
        try:
            self._start()
        except BaseException:
            self._parts.close()
            raise

    def stop(self) -> None:
        self._parts.close()

    def end_streams(self) -> None:
        """End what would keep a page's connection open for ever: events and live frames."""
        self.hub.events.close()
        self.hub.scenes.close()

    def _start(self) -> None:
        collect_seldom()
        settings = self._settings
        self.folder = DataFolder(settings.data_dir)
        self.folder.open()
        self._parts.callback(self.folder.close)
        engine = open_database(settings.resolved_database_url)
        self._parts.callback(engine.dispose)

        inventory = InventoryService(engine)
        credentials = CredentialService(engine, self._url_for_boards, self._reload_broker)
        self.broker = None
        address = self._broker(credentials)

        loop = FleetLoop()
        events = EventBus()
        roster = Roster(loop)
        flashes = FlashService(inventory, FlashStore(engine))
        rollouts = RolloutService(
            engine,
            inventory,
            loop,
            events,
            settings.telemetry_interval_s,
            flashes.found,
            flashes_known=flashes.found_so_far,
        )
        budgets = BudgetService(engine, loop, rollouts)
        history = HistoryService(engine, loop.state, settings.telemetry_interval_s)
        energy = EnergyService(engine, loop.state)
        load = LoadService(engine, loop.state, settings.telemetry_interval_s)
        asks = AskService(loop)
        node_views = NodeViews(loop, roster, events, rollouts.desired_revision)
        health = HealthService(
            engine,
            loop,
            events,
            telemetry_interval_s=settings.telemetry_interval_s,
            desired_revision=rollouts.desired_revision,
        )
        rollouts.watch_findings(health)
        scenes = SceneService(inventory, rollouts)
        pulse = LoopPulse()
        notify = NotifyService(engine, inventory, health, pulse.beats)
        cues = CueService(engine, inventory, rollouts, flashes)
        audit = AuditService(inventory, rollouts, loop, load)
        link = Link(address, loop.inbox, loop.link_changed)
        looks = RetainedLooks(address)
        loop.attach(link)
        loop.add_listener(Rebirth(loop), (Leaf.PRESENCE,))
        loop.add_listener(ClockExchanges(loop), (Leaf.PRESENCE, Leaf.REPORTED, Leaf.ANSWER))
        loop.add_listener(Lifeline(loop, settings.telemetry_interval_s), ())
        loop.add_listener(asks, (Leaf.ANSWER,))
        loop.add_listener(rollouts, (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY))
        loop.add_listener(budgets, (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY))
        loop.add_listener(history, (Leaf.TELEMETRY,))
        loop.add_listener(energy, (Leaf.PRESENCE,))
        loop.add_listener(load, ())
        loop.add_listener(health, (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY))
        loop.add_listener(node_views)
        loop.add_listener(pulse, ())
        loop.add_listener(rollouts.watch_retained(looks), ())

        def let_stay_and_go(venue_id: str) -> None:
            """Who is heard and may connect: the venue's nodes, and those that still have a share to give back."""
            venue = inventory.venue(venue_id)
            leaving = budgets.leaving(venue)
            roster.venue_changed(venue, leaving)
            credentials.keep_only(venue_id, {node.id for node in venue.nodes} | leaving)

        def venue_changed(venue_id: str) -> None:
            venue = inventory.venue(venue_id)
            let_stay_and_go(venue_id)
            health.venue_changed(venue)
            budgets.venue_changed(venue)
            energy.venue_changed(venue)
            load.venue_changed(venue)
            history.venue_changed(venue)
            events.publish("venue", venue_id, {"id": venue_id})

        for venue_id in inventory.venue_ids():
            venue_changed(venue_id)
        health.adopt_open()
        budgets.on_left(let_stay_and_go)
        inventory.on_change(venue_changed)
        inventory.on_change(rollouts.venue_changed)
        inventory.on_change(flashes.venue_changed)

        self.hub = Hub(
            settings=settings,
            engine=engine,
            tokens=TokenService(engine),
            inventory=inventory,
            rollouts=rollouts,
            dry_runs=DryRunService(inventory, rollouts, loop, flashes.found_so_far),
            controls=ControlService(inventory, rollouts, cues),
            cues=cues,
            budgets=budgets,
            scenes=scenes,
            flashes=flashes,
            audit=audit,
            events=events,
            roster=roster,
            node_views=node_views,
            asks=asks,
            history=history,
            energy=energy,
            load=load,
            notify=notify,
            health=health,
            metrics=MetricsService(loop, inventory, health, history, link),
            readiness=ReadinessService(engine, lambda: link.connected, pulse.beats),
            fault_findings=FaultFindingService(engine, Gathering(inventory, loop, audit, health), asks),
            credentials=credentials,
            timetables=TimetableService(inventory, rollouts),
        )

        # In order of dependence: whoever is stopped first is the one that others no longer feed.
        for part in (notify, history, energy, load, rollouts, flashes, loop, link, looks):
            part.start()
            self._parts.callback(part.stop)
        self._parts.callback(scenes.stop)
        self._parts.callback(self.end_streams)

    def _broker(self, credentials: CredentialService) -> BrokerAddress:
        """Where the hub connects to; the embedded broker is started where the user has none."""
        settings = self._settings
        if settings.broker_url is not None:
            self._address = parse_broker_url(settings.broker_url)
            return self._address
        broker = EmbeddedBroker(
            settings.data_dir / "broker", settings.broker_host, settings.broker_port, credentials.users
        )
        broker.start()
        self._parts.callback(broker.stop)
        self.broker = broker
        self._address = BrokerAddress(
            broker.host, broker.port, encrypted=False, user=broker.hub_user, secret=broker.hub_secret
        )
        return self._address

    def _url_for_boards(self) -> str:
        address = self._address
        reachable = BrokerAddress(address_for_boards(address.host), address.port, address.encrypted)
        return reachable.public_url

    def _reload_broker(self) -> None:
        if self.broker is not None:
            self.broker.reload()
