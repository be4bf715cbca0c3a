"""Staging: one valid document, one thing wrong at a time; each refusal names field and remedy."""

from collections.abc import Callable
from pathlib import Path

import pytest

from node_agent.board import RehearsalBoard, SpiBoard
from node_agent.render.patterns.formula import Formula
from node_agent.render.patterns.wash import Wash
from node_agent.staging import AlreadyShowing, AlreadyStaged, Holding, Refused, Staged, Unreadable, stage
from schemas import Budget, Desired, DesiredBody, Feed, Layer, Scene, TakeTime, TimedTake
from schemas.bounds import MAX_DESIRED_BYTES
from tests.conftest import NODES, VENUE
from tests.node_agent.documents import CLOCKED, PIXELS, RGB, body, channel, desired, scene, zone

NOW_S = 1_800_000_000.0


def _holding(showing: Desired | None = None, staged: Desired | None = None) -> Holding:
    return Holding(VENUE, NODES[0], showing, staged)


@pytest.fixture
def board(tmp_path: Path) -> RehearsalBoard:
    return RehearsalBoard(tmp_path)


def _layers(count: int, zone_id: str = "fascia") -> Scene:
    wash = Wash(pattern="wash", colour="#101010")
    return Scene(id="evening", title="Evening", layers=(Layer(zone=zone_id, pattern=wash),) * count)


def _heavy_formula(*, as_mask: bool = False) -> Scene:
    wash = Wash(pattern="wash", colour="#101010")
    formula = Formula(pattern="formula", formula="sin(x - t) + sin(y - t) + sin(s - t)", period_s=5.0)
    layer = Layer(zone="fascia", pattern=wash if as_mask else formula, mask=formula if as_mask else None)
    return Scene(id="evening", title="Evening", layers=(layer,))


def test_valid_document_is_staged_ready_to_show(board: RehearsalBoard) -> None:
    verdict = stage(desired(1).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(verdict, Staged)
    assert verdict.prepared.linear("evening", NOW_S).shape == (PIXELS, 3)
    assert verdict.prepared.period_s == pytest.approx(0.04)


def test_document_without_channels_is_staged(board: RehearsalBoard) -> None:
    empty = body(channels=(), budgets=(), zones=(), scenes=(), showing=None)
    assert isinstance(stage(desired(1, empty).model_dump_json().encode(), _holding(), board, NOW_S), Staged)


Fault = tuple[str, Callable[[], DesiredBody], str]


def _feed(at_pixel: int) -> Feed:
    return Feed(supply="supply-1", at_pixel=at_pixel, wire_mm2=1.5, length_m=1.0)


SLOW = RGB.model_copy(update={"timing": RGB.timing.model_copy(update={"tolerance_us": 0.0001, "t0h_us": 0.4321})})

FAULTS: list[Fault] = [
    (
        "more channels than outputs",
        lambda: body(channels=(channel(3),), zones=(zone(channel_number=3),)),
        "body.channels.0.number",
    ),
    ("one channel twice", lambda: body(channels=(channel(1), channel(1, pin="spidev9.9"))), "body.channels"),
    ("one pin twice", lambda: body(channels=(channel(1), channel(2, pin="spidev0.0"))), "body.channels.1.pin"),
    (
        "feed past the end",
        lambda: body(channels=(channel(feeds=(_feed(PIXELS),)),)),
        "body.channels.0.feeds.0.at_pixel",
    ),
    ("span past the end", lambda: body(zones=(zone(PIXELS + 1),)), "body.zones.fascia.spans.0"),
    ("span on a channel that is not there", lambda: body(zones=(zone(channel_number=2),)), "body.zones.fascia.spans.0"),
    ("zone twice", lambda: body(zones=(zone(), zone())), "body.zones"),
    ("scene twice", lambda: body(scenes=(scene(), scene())), "body.scenes"),
    ("scene that is not there", lambda: body(showing="morning"), "body.showing"),
    ("layer over no zone", lambda: body(scenes=(_layers(2, "gable"),)), "body.scenes.evening.layers.0.zone"),
    ("more layers than the board renders", lambda: body(scenes=(_layers(5),)), "body.scenes.evening.layers"),
    (
        "a timed take of no scene",
        lambda: body(timetable=(TimedTake(at_ms=1, scene=None), TimedTake(at_ms=2, scene="gala"))),
        "body.timetable.1.scene",
    ),
    (
        "more layers at some time than the board renders",
        lambda: body(scenes=(_layers(5),), showing=None, timetable=(TimedTake(at_ms=1, scene="evening"),)),
        "body.scenes.evening.layers",
    ),
    ("heavier than the board renders", lambda: body(scenes=(_heavy_formula(),)), "body.scenes.evening.layers"),
    ("a mask that is", lambda: body(scenes=(_heavy_formula(as_mask=True),)), "body.scenes.evening.layers"),
    (
        "more placed pixels than the board renders",
        lambda: body(zones=tuple(zone(id=f"z-{n}") for n in range(5))),
        "body.zones",
    ),
    ("timing no clock can make", lambda: body(channels=(channel(pixel_type=SLOW),)), "body.channels"),
]


@pytest.mark.parametrize(("make", "field"), [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS])
def test_document_that_the_board_cannot_show_is_refused_with_field_and_remedy(
    tmp_path: Path, make: Callable[[], DesiredBody], field: str
) -> None:
    small = RehearsalBoard(tmp_path, outputs=2, pixel_layers_limit=4 * PIXELS)
    verdict = stage(desired(7, make()).model_dump_json().encode(), _holding(), small, NOW_S)
    assert isinstance(verdict, Refused)
    assert verdict.refusal.revision == 7
    assert verdict.refusal.field.startswith(field)
    assert verdict.refusal.reason
    assert verdict.refusal.remedy
    assert not verdict.malformed


def test_contract_fault_is_refused_by_its_field(board: RehearsalBoard) -> None:
    payload = desired(3).model_dump_json().replace('"opacity":1.0', '"opacity":"full"').encode()
    verdict = stage(payload, _holding(), board, NOW_S)
    assert isinstance(verdict, Refused)
    assert verdict.refusal.field == "body.scenes.0.layers.0.opacity"
    assert verdict.malformed


def test_refusal_that_quotes_a_stranger_carries_no_control_characters(board: RehearsalBoard) -> None:
    payload = desired(3).model_dump_json().replace('"zones":', '"z\\u001b[2J' + "o" * 5_000 + '":').encode()
    verdict = stage(payload, _holding(), board, NOW_S)
    assert isinstance(verdict, Refused)
    assert "\x1b" not in verdict.refusal.model_dump_json()


def test_hash_that_is_not_the_bodys_is_refused(board: RehearsalBoard) -> None:
    verdict = stage(desired(3, sha256="0" * 64).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(verdict, Refused)
    assert verdict.refusal.field == "sha256"


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"{}",
        b"[" * 100_000,
        b"\xff",
        desired(1, node=NODES[1]).model_dump_json().encode(),
        desired(1, venue="other").model_dump_json().encode(),
        b"x" * (MAX_DESIRED_BYTES + 1),
    ],
    ids=["nothing", "no fields", "deep", "not UTF-8", "another node", "another venue", "too large"],
)
def test_what_is_not_for_this_node_is_unreadable(board: RehearsalBoard, payload: bytes) -> None:
    assert isinstance(stage(payload, _holding(), board, NOW_S), Unreadable)


OTHER = body("#0000ff")


@pytest.mark.parametrize(
    ("document", "verdict"),
    [
        (desired(5), AlreadyShowing),
        (desired(5, take=TakeTime(at_ms=1)), AlreadyShowing),
        (desired(5, OTHER), Refused),
        (desired(4), Refused),
        (desired(8), AlreadyStaged),
        (desired(8, take=TakeTime(at_ms=1)), AlreadyStaged),
        (desired(8, OTHER), Refused),
        (desired(6), Staged),
        (desired(9), Staged),
    ],
    ids=lambda value: f"revision {value.revision}" if isinstance(value, Desired) else value.__name__,
)
def test_order_of_revisions_where_5_shows_and_8_is_staged(
    board: RehearsalBoard, document: Desired, verdict: type
) -> None:
    found = stage(document.model_dump_json().encode(), _holding(desired(5), desired(8)), board, NOW_S)
    assert isinstance(found, verdict)


def test_spi_board_refuses_pins_it_lacks_and_frames_its_driver_cannot_take(tmp_path: Path) -> None:
    (tmp_path / "spidev0.0").touch()
    (tmp_path / "bufsiz").write_text("4096\n")
    board = SpiBoard(devices=tmp_path, bufsiz_file=tmp_path / "bufsiz")
    assert isinstance(stage(desired(1).model_dump_json().encode(), _holding(), board, NOW_S), Staged)
    elsewhere = body(channels=(channel(2),), zones=(), scenes=(), showing=None)
    missing = stage(desired(1, elsewhere).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(missing, Refused)
    assert "spidev0.1" in missing.refusal.reason
    assert "spidev0.0" in missing.refusal.reason
    both = body(channels=(channel(), channel(2)), zones=(), scenes=(), showing=None)
    shared = stage(desired(1, both).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(shared, Refused)
    assert shared.refusal.field == "body.channels.1.pin"
    assert shared.refusal.reason == "spidev0.1 has one data line with spidev0.0, which drives channel 1 already"
    long = body(channels=(channel(pixels=4_000),))
    refused = stage(desired(1, long).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(refused, Refused)
    assert refused.refusal.field == "body.channels.0.pin"
    assert "bufsiz" in refused.refusal.remedy
    clocked = body(channels=(channel(pixels=4_000, pixel_type=CLOCKED),))
    staged = stage(desired(1, clocked).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(staged, Staged), "a pause between its parts does not end a clocked frame"


def test_missing_budget_is_no_reason_to_refuse_the_limiter_has_a_safe_one(board: RehearsalBoard) -> None:
    unbudgeted = body("#ffffff", budgets=(Budget(supply="supply-9", budget_a=1.0),))
    verdict = stage(desired(1, unbudgeted).model_dump_json().encode(), _holding(), board, NOW_S)
    assert isinstance(verdict, Staged)
    frame = verdict.prepared.limit(verdict.prepared.linear("evening", NOW_S), 0.04, NOW_S)
    assert frame.amps.max() <= 0.6
