"""The inventory gives back what it took, changes whole or not at all, and tells of every change."""

import json
import threading

import pytest
from hypothesis import HealthCheck, given, settings
from sqlalchemy import Engine, event

from hub.api.etag import Precondition, etag_of
from hub.errors import ConflictError, InvalidError, NotFoundError, PreconditionNeededError, StaleError
from hub.inventory.kinds import NODES, PIXEL_TYPES, SCENES, SUPPLIES, ZONES
from hub.inventory.rows import TABLES
from hub.inventory.search import has_text, supply_of_node, supply_of_volts
from hub.inventory.service import InventoryService
from schemas.bounds import MAX_SCENES
from schemas.scene import Scene
from schemas.venue import Node, Supply, Venue
from tests.hub.conftest import on_each_database
from tests.hub.venue_file.venues import changed, venues

pytestmark = on_each_database
ANY = Precondition(if_match="*")
NEW = Precondition(if_none_match="*")
SPARE = Supply(id="spare", volts=5.0, rated_a=4.0)


@settings(
    max_examples=25,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(first=venues(), second=venues())
def test_venue_comes_back_as_it_went_in_whatever_was_there_before(engine: Engine, first: Venue, second: Venue) -> None:
    writer = InventoryService(engine)
    writer.load(first)
    writer.load(changed(second, id=first.id))
    assert InventoryService(engine).venue(first.id) == changed(second, id=first.id)


def test_order_of_the_file_is_kept(engine: Engine, inventory: InventoryService, kiosk: Venue) -> None:
    turned = changed(
        kiosk,
        supplies=kiosk.supplies[::-1],
        zones=kiosk.zones[::-1],
        nodes=(changed(kiosk.nodes[0], channels=kiosk.nodes[0].channels[::-1]),),
    )
    inventory.load(turned)
    assert InventoryService(engine).venue("kiosk") == turned


def test_load_of_the_same_changes_nothing_and_tells_nobody(inventory: InventoryService, kiosk: Venue) -> None:
    told: list[str] = []
    inventory.on_change(told.append)
    assert inventory.load(kiosk) == []
    assert told == []


def test_every_change_is_told_once(inventory: InventoryService, kiosk: Venue) -> None:
    told: list[str] = []
    inventory.on_change(told.append)
    inventory.load(changed(kiosk, title="Other"))
    inventory.put(SUPPLIES, "kiosk", SPARE, NEW)
    inventory.remove(SUPPLIES, "kiosk", "spare", ANY)
    assert told == ["kiosk"] * 3


def test_listener_sees_the_change_and_its_failure_hides_nothing(inventory: InventoryService, kiosk: Venue) -> None:
    seen: list[str] = []

    def fail(_venue: str) -> None:
        raise RuntimeError

    inventory.on_change(fail)
    inventory.on_change(lambda venue: seen.append(inventory.venue(venue).title))
    inventory.load(changed(kiosk, title="Other"))
    assert seen == ["Other"]


def test_inconsistent_venue_is_refused_and_the_old_one_stays(inventory: InventoryService, kiosk: Venue) -> None:
    with pytest.raises(InvalidError) as raised:
        inventory.load(changed(kiosk, title="Other", supplies=kiosk.supplies[:1], opening_scene="none"))
    assert [mistake.field for mistake in raised.value.mistakes] == [
        "nodes[0].channels[1].run.feeds[0].supply",
        "opening_scene",
    ]
    assert inventory.venue("kiosk") == kiosk


def test_failure_in_the_middle_of_a_load_leaves_the_old_venue(
    engine: Engine, inventory: InventoryService, kiosk: Venue
) -> None:
    def fail(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if statement.startswith("INSERT INTO scene"):
            raise OSError("the disk is full")

    event.listen(engine, "before_cursor_execute", fail)
    with pytest.raises(OSError, match="disk is full"):
        inventory.load(changed(kiosk, title="Other", scenes=(changed(kiosk.scenes[0], title="Late"),)))
    event.remove(engine, "before_cursor_execute", fail)
    assert inventory.venue("kiosk") == InventoryService(engine).venue("kiosk") == kiosk


def test_what_is_not_there_is_named(inventory: InventoryService) -> None:
    with pytest.raises(NotFoundError, match="no venue 'none'"):
        inventory.venue("none")
    with pytest.raises(NotFoundError, match="no node 'none'"):
        inventory.item(NODES, "kiosk", "none")
    with pytest.raises(NotFoundError, match="no supply 'none'"):
        inventory.remove(SUPPLIES, "kiosk", "none", ANY)
    with pytest.raises(NotFoundError, match="no venue 'none'"):
        inventory.put(SUPPLIES, "none", SPARE, NEW)


def test_item_is_added_changed_and_removed(engine: Engine, inventory: InventoryService, kiosk: Venue) -> None:
    assert inventory.put(SUPPLIES, "kiosk", SPARE, NEW) is True
    larger = changed(SPARE, rated_a=9.0)
    assert inventory.put(SUPPLIES, "kiosk", larger, Precondition(if_match=etag_of(SPARE))) is False
    assert InventoryService(engine).venue("kiosk").supplies == (*kiosk.supplies, larger)
    inventory.remove(SUPPLIES, "kiosk", "spare", Precondition(if_match=etag_of(larger)))
    assert InventoryService(engine).venue("kiosk") == kiosk


def test_changed_item_keeps_its_place_and_its_references(
    engine: Engine, inventory: InventoryService, kiosk: Venue
) -> None:
    for kind, item in (
        (SUPPLIES, changed(kiosk.supplies[0], rated_a=9.0)),
        (NODES, changed(kiosk.nodes[0], title="Front")),
        (ZONES, changed(kiosk.zones[0], title="Sill")),
        (SCENES, changed(kiosk.scenes[0], title="Late")),
        (PIXEL_TYPES, changed(kiosk.pixel_types[0], title="Ours")),
    ):
        assert inventory.put(kind, "kiosk", item, ANY) is False
        assert item in kind.items(InventoryService(engine).venue("kiosk"))


def test_items_are_found_by_text_in_any_case_and_by_what_belongs_together(
    inventory: InventoryService, kiosk: Venue
) -> None:
    odd = changed(SPARE, title="50 % Reserve_\\")
    inventory.put(SUPPLIES, "kiosk", odd, NEW)
    for text in ("SPAR", "50 % r", "_\\"):
        assert inventory.find(SUPPLIES, "kiosk", has_text(TABLES["supplies"][0][0], text)) == [odd]
    assert inventory.find(SUPPLIES, "kiosk", has_text(TABLES["supplies"][0][0], "5%r")) == []
    assert odd in inventory.find(SUPPLIES, "kiosk", supply_of_volts(5.0))
    fed = inventory.find(SUPPLIES, "kiosk", supply_of_node(kiosk.nodes[0].id))
    assert fed == [supply for supply in kiosk.supplies if supply in fed] != []
    assert [summary.supplies for summary in inventory.summaries()] == [len(kiosk.supplies) + 1]


def test_stale_or_missing_precondition_changes_nothing(inventory: InventoryService, kiosk: Venue) -> None:
    mine = changed(kiosk.supplies[0], rated_a=9.0)
    with pytest.raises(StaleError):
        inventory.put(SUPPLIES, "kiosk", mine, Precondition(if_match=etag_of(mine)))
    with pytest.raises(StaleError):
        inventory.put(SUPPLIES, "kiosk", mine, NEW)
    with pytest.raises(PreconditionNeededError):
        inventory.put(SUPPLIES, "kiosk", mine, Precondition())
    with pytest.raises(PreconditionNeededError):
        inventory.remove(SCENES, "kiosk", "evening", Precondition())
    with pytest.raises(StaleError):
        inventory.load(changed(kiosk, title="Other"), NEW)
    assert inventory.venue("kiosk") == kiosk


def test_edit_that_would_leave_the_venue_inconsistent_is_refused(inventory: InventoryService, kiosk: Venue) -> None:
    with pytest.raises(InvalidError) as raised:
        inventory.remove(SUPPLIES, "kiosk", "psu-12v", ANY)
    assert "there is no supply 'psu-12v'" in raised.value.mistakes[0].reason
    with pytest.raises(InvalidError) as raised:
        inventory.put(NODES, "kiosk", changed(kiosk.nodes[0], channels=kiosk.nodes[0].channels[:1]), ANY)
    assert "has no channel 2" in raised.value.mistakes[0].reason
    assert inventory.venue("kiosk") == kiosk


def test_venue_takes_no_more_items_than_its_contract(inventory: InventoryService, kiosk: Venue) -> None:
    scenes = tuple(Scene(id=f"scene-{number}", title="Dark") for number in range(MAX_SCENES - 1))
    inventory.load(changed(kiosk, scenes=kiosk.scenes + scenes))
    with pytest.raises(InvalidError, match="full"):
        inventory.put(SCENES, "kiosk", Scene(id="one-too-many", title="Dark"), NEW)


def test_preview_of_a_load_changes_nothing(inventory: InventoryService, kiosk: Venue) -> None:
    (change,) = inventory.preview_load(changed(kiosk, title="Other"))
    assert (change.noun, change.fields[0].after) == ("venue", "Other")
    assert inventory.preview_load(changed(kiosk, id="new"))[0].kind == "added"
    assert inventory.venue_ids() == ["kiosk"]
    assert inventory.venue("kiosk") == kiosk


def test_change_by_another_process_is_seen(engine: Engine, inventory: InventoryService, kiosk: Venue) -> None:
    other = InventoryService(engine)
    assert inventory.venue("kiosk") == other.venue("kiosk")
    other.load(changed(kiosk, title="Other"))
    assert inventory.venue("kiosk").title == "Other"


def test_no_edit_is_lost_between_many_writers(engine: Engine, inventory: InventoryService) -> None:
    # Two services stand for two processes: they share the database and nothing else.
    services = [inventory, InventoryService(engine)]
    lost: list[BaseException] = []

    def write(service: InventoryService, writer: int) -> None:
        for number in range(10):
            supply = changed(SPARE, id=f"spare-{writer}-{number}")
            for _ in range(50):
                try:
                    service.put(SUPPLIES, "kiosk", supply, NEW)
                except ConflictError:
                    continue  # others were faster ten times in a row: the caller repeats
                except BaseException as error:
                    lost.append(error)
                break

    threads = [threading.Thread(target=write, args=(services[n % 2], n)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert lost == []
    assert len(InventoryService(engine).venue("kiosk").supplies) == 2 + 40


def test_venue_of_a_thousand_nodes_is_loaded_in_few_statements(engine: Engine) -> None:
    venue = _large_venue(1_000)
    statements: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *call: statements.append(call[2]))
    InventoryService(engine).load(venue)
    assert len(statements) < 30
    statements.clear()
    assert InventoryService(engine).venue("large") == venue
    assert len(statements) < 15


def _large_venue(nodes: int) -> Venue:
    run = {
        "pixel_type": "rgb-5v-nrz800",
        "pixels": 100,
        "pixels_per_m": 60,
        "feeds": [{"supply": "psu", "at_pixel": at, "wire_mm2": 1.5, "length_m": 2} for at in (0, 99)],
    }
    channels = [{"number": number, "pin": f"spidev{number}.0", "run": run} for number in (1, 2, 3, 4)]
    document = {
        "id": "large",
        "title": "Large",
        "supplies": [{"id": "psu", "volts": 5, "rated_a": 60}],
        "nodes": [{"id": f"node-{number}", "outputs": 4, "channels": channels} for number in range(nodes)],
        "zones": [
            {
                "id": f"zone-{number}",
                "spans": [
                    {"node": f"node-{number}", "channel": channel, "pixels": 100, "path": [[number, 0], [number, 1]]}
                    for channel in (1, 2, 3, 4)
                ],
            }
            for number in range(nodes)
        ],
    }
    return Venue.model_validate_json(json.dumps(document))


def test_node_without_channels_comes_back(inventory: InventoryService) -> None:
    bare = Node(id="bare", outputs=1)
    inventory.put(NODES, "kiosk", bare, NEW)
    assert inventory.item(NODES, "kiosk", "bare") == bare
