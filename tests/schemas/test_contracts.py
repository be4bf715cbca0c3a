import json
from collections.abc import Iterator

import jsonschema
import pytest
from pydantic import BaseModel, ValidationError

from hub.published import contracts
from schemas import Desired, DesiredBody, NodeCredential, Presence, Reported, Take, Telemetry, Venue
from schemas.bounds import MAX_LAYERS, MAX_PATH_POINTS, MAX_SCENES, MAX_SPOT_SPANS, MAX_TEXT, MAX_TITLE
from tests.schemas.examples import EXAMPLES, SCENE, Json, changed

NAMES = sorted(EXAMPLES)


def _contracts_in(value: object) -> Iterator[type[BaseModel]]:
    if isinstance(value, BaseModel):
        yield type(value)
        for field in type(value).model_fields:
            yield from _contracts_in(getattr(value, field))
    elif isinstance(value, tuple):
        for item in value:
            yield from _contracts_in(item)


def test_examples_hold_every_contract() -> None:
    seen = {
        found
        for contract, document in EXAMPLES.values()
        for found in _contracts_in(contract.model_validate_json(json.dumps(document)))
    }
    assert set(contracts()) <= seen


@pytest.mark.parametrize("name", NAMES)
def test_contract_comes_back_from_its_json_unchanged(name: str) -> None:
    contract, document = EXAMPLES[name]
    value = contract.model_validate_json(json.dumps(document))
    assert contract.model_validate_json(value.model_dump_json()) == value


@pytest.mark.parametrize("name", NAMES)
def test_published_schema_accepts_what_the_contract_accepts(name: str) -> None:
    contract, document = EXAMPLES[name]
    jsonschema.Draft202012Validator(contract.model_json_schema()).validate(document)


def _objects(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, dict):
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from _objects(item, (*path, key))


@pytest.mark.parametrize("name", NAMES)
def test_unknown_field_is_refused_at_every_depth(name: str) -> None:
    contract, document = EXAMPLES[name]
    for path in _objects(document):
        spoiled = changed(document, (*path, "unheard_of"), 1)
        with pytest.raises(ValidationError, match="unheard_of"):
            contract.model_validate_json(json.dumps(spoiled))


def _numbers(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, int | float) and not isinstance(value, bool):
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from _numbers(item, (*path, key))


@pytest.mark.parametrize("unfit", [float("nan"), float("inf"), float("-inf"), "1", True, None, 1e300, -1e300])
@pytest.mark.parametrize("name", NAMES)
def test_number_that_is_not_finite_in_range_and_a_number_is_refused(name: str, unfit: object) -> None:
    contract, document = EXAMPLES[name]
    # `null` is a value of an optional field, and pydantic reads `true` as the constant 1.
    constants = {"schema_version"}
    optional = {
        "frame_rate_limit_hz",
        "revision",
        "temperature_c",
        "clock_offset_ms",
        "clock_dispersion_ms",
        "clock_drift_ppm",
        "processor_share",
        "memory_free_share",
        "disk_free_share",
        "disk_worn_share",
        "signal_dbm",
        "link_mbit_per_s",
        "follow_on_s",
        "taken_at_ms",
        "wire_mm2",
        "wire_awg",
        "fuse_a",
        "loop_ohm_per_m",
        "white_emitter_k",
        "white_point_k",
        "refresh_hz",
    }
    for path in _numbers(document):
        if (unfit is None and path[-1] in optional) or (unfit is True and path[-1] in constants):
            continue
        with pytest.raises(ValidationError) as refused:
            contract.model_validate_json(json.dumps(changed(document, path, unfit)))
        named = [str(step) for error in refused.value.errors() for step in error["loc"]]
        assert str(path[-1]) in named, f"{path} is not named by {refused.value}"


TAGS = {"wash", "spot", "gradient", "chase", "wave", "twinkle", "nrz", "clocked"}
LAYER: Json = SCENE["layers"][0]
GRADIENT = ("scenes", 0, "layers", 3, "pattern", "stops")
SPOT = ("scenes", 0, "layers", 2, "pattern", "spans")
CHASE = ("scenes", 0, "layers", 4, "pattern")
RUN = ("nodes", 0, "channels", 0, "run")


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("title",), ""),
        (("title",), "x" * (MAX_TITLE + 1)),
        (("title",), "Shop\u0007"),
        (("title",), "Shop\nof"),
        (("note",), "x" * (MAX_TEXT + 1)),
        (("note",), "\u001b[2Jgone"),
        (("supplies", 0, "rated_a"), 0),
        (("supplies", 0, "derating"), 1.01),
        (("supplies", 0, "volts"), 61),
        (("nodes", 0, "outputs"), 5),
        (("nodes", 0, "outputs"), 1.5),
        (("nodes", 0, "channels", 0, "number"), 0),
        (("nodes", 0, "channels", 0, "pin"), "../spidev0.0"),
        (("nodes", 0, "channels", 0, "pin"), "/dev/spidev0.0"),
        ((*RUN, "pixels"), 0),
        ((*RUN, "pixels"), 4097),
        ((*RUN, "white_balance", "red"), 1.5),
        ((*RUN, "feeds", 0, "wire_mm2"), -1),
        (("zones", 0, "spans", 0, "path"), [[0, 1]]),
        (("zones", 0, "spans", 0, "path"), [[0, 1]] * (MAX_PATH_POINTS + 1)),
        (("zones", 0, "spans", 0, "path", 0), [0, 1, 2]),
        (("zones", 0, "of"), ["everything"]),
        (("zones", 1, "of"), []),
        (("scenes",), [SCENE] * (MAX_SCENES + 1)),
        (("scenes", 0, "layers"), [LAYER] * (MAX_LAYERS + 1)),
        (("scenes", 0, "layers", 0, "opacity"), 1.01),
        (("scenes", 0, "layers", 0, "pattern", "pattern"), "unheard-of"),
        (("scenes", 0, "layers", 0, "pattern", "colour"), "#FFFFFF"),
        (("scenes", 0, "layers", 0, "pattern", "colour"), "#fff"),
        (("scenes", 0, "layers", 0, "pattern", "colour"), "redd"),
        (SPOT, []),
        (SPOT, [{"first": 0}] * (MAX_SPOT_SPANS + 1)),
        ((*GRADIENT, 0, "at"), 1),
        ((*CHASE, "length_m"), 0.9),
        (("pixel_types", 0, "colour_order"), "RRGB"),
        (("pixel_types", 0, "colour_order"), "RG"),
        (("pixel_types", 0, "colour_order"), "GRBX"),
        (("pixel_types", 0, "minimum_volts"), 5.1),
        (("pixel_types", 0, "sources", "otherwise"), ""),
        (("pixel_types", 0, "sources", "timing"), "two\nlines"),
        (("pixel_types", 0, "leds_per_pixel"), 0),
        (("pixel_types", 0, "current_below_minimum"), "rises"),
        (("pixel_types", 0, "refresh_hz"), 0),
        (("pixel_types", 0, "timing", "protocol"), "unheard-of"),
        (("pixel_types", 1, "timing", "clock_mhz"), 20.5),
        (("pixel_types", 1, "timing", "start_bits"), 33),
        (("pixel_types", 1, "timing", "level_bits"), 8),
        (("pixel_types", 1, "timing", "end_bits_per_pixel"), -1),
    ],
)  # fmt: skip
def test_venue_with_one_field_wrong_is_refused(path: tuple[str | int, ...], value: object) -> None:
    document = EXAMPLES["venue"][1]
    with pytest.raises(ValidationError) as refused:
        Venue.model_validate_json(json.dumps(changed(document, path, value)))
    assert all(_meets(error["loc"], path) for error in refused.value.errors()), str(refused.value)


def _meets(location: tuple[str | int, ...], path: tuple[str | int, ...]) -> bool:
    """Whether an error stands at `path`, inside it, or at something around it; the tags of unions do not count."""
    steps = [step for step in location if step not in TAGS]
    return all(mine == theirs for mine, theirs in zip(steps, path, strict=False))


@pytest.mark.parametrize(
    ("contract", "name", "field", "value"),
    [
        (Desired, "desired", "schema_version", 2),
        (Desired, "desired", "revision", 0),
        (Desired, "desired", "revision", 2**53),
        (Desired, "desired", "sha256", "0" * 63),
        (Desired, "desired", "sha256", "G" * 64),
        (Desired, "desired", "sha256", "A" * 64),
        (Presence, "presence", "state", "asleep"),
        (Presence, "presence", "session", 256),
        (Presence, "presence", "boot_id", "not hex"),
        (Presence, "presence", "agent_version", "0.1\n"),
        (Reported, "reported", "scene", "Evening"),
        (Reported, "reported", "taken_at_ms", -1),
        (Telemetry, "telemetry", "sequence", -1),
        (Telemetry, "telemetry", "frame_rate_hz", 10_001),
        (Telemetry, "telemetry", "late_frames", -1),
        (Take, "take", "fade_ms", 600_001),
        (Take, "take", "at_ms", 1.5),
        (NodeCredential, "credential", "broker_url", "mqtt://user@broker.example"),
        (NodeCredential, "credential", "broker_url", "mqtt://broker.example/path"),
        (NodeCredential, "credential", "broker_url", "http://broker.example"),
        (NodeCredential, "credential", "secret", "short"),
        (NodeCredential, "credential", "username", "a/b"),
    ],
)
def test_message_with_one_field_wrong_is_refused_by_name(
    contract: type[BaseModel], name: str, field: str, value: object
) -> None:
    with pytest.raises(ValidationError) as refused:
        contract.model_validate_json(json.dumps(changed(EXAMPLES[name][1], (field,), value)))
    assert [error["loc"] for error in refused.value.errors()] == [(field,)]


@pytest.mark.parametrize("name", NAMES)
def test_missing_field_is_named_where_it_has_no_default(name: str) -> None:
    contract, document = EXAMPLES[name]
    for field, info in contract.model_fields.items():
        if not info.is_required():
            continue
        without = {key: value for key, value in document.items() if key != field}
        with pytest.raises(ValidationError) as refused:
            contract.model_validate_json(json.dumps(without))
        assert [error["loc"] for error in refused.value.errors()] == [(field,)]


def test_contract_cannot_be_changed_after_it_was_validated() -> None:
    body = DesiredBody.model_validate_json(json.dumps(EXAMPLES["desired"][1]["body"]))
    with pytest.raises(ValidationError):
        body.telemetry_interval_s = 1.0  # type: ignore[misc]
