import hashlib
import json
import subprocess
import sys

from schemas import DesiredBody, body_sha256
from tests.schemas.examples import BODY, Json, changed


def _body(document: Json) -> DesiredBody:
    return DesiredBody.model_validate_json(json.dumps(document))


def test_hash_is_the_sha256_of_the_canonical_json() -> None:
    """Against the definition, from a body small enough to write its canonical JSON out by hand."""
    written = (
        '{"budgets":[{"budget_a":3.2,"supply":"a"}],"channels":[],"frame_rate_limit_hz":null,"master_level":1.0,'
        '"scenes":[{"id":"b","layers":[],"note":"","title":"Süd"}],"showing":"b","showing_since_ms":7,'
        '"telemetry_interval_s":5.0,"timetable":[{"at_ms":9,"fade_ms":0,"scene":"b"}],"zones":[]}'
    )
    body = _body({
        "telemetry_interval_s": 5, "showing": "b", "showing_since_ms": 7, "timetable": [{"at_ms": 9, "scene": "b"}],
        "scenes": [{"title": "Süd", "id": "b"}],
        "budgets": [{"supply": "a", "budget_a": 3.2}],
    })  # fmt: skip
    assert body_sha256(body) == hashlib.sha256(written.encode()).hexdigest()


def test_hash_does_not_depend_on_how_the_body_was_written() -> None:
    reordered = json.loads(json.dumps(BODY, sort_keys=True), object_pairs_hook=lambda pairs: dict(reversed(pairs)))
    with_defaults = _body(BODY).model_dump(mode="json")
    with_floats = changed(BODY, ("frame_rate_limit_hz",), 50.0)
    assert {body_sha256(_body(body)) for body in (BODY, reordered, with_defaults, with_floats)} == {
        body_sha256(_body(BODY))
    }


def test_hash_is_the_same_in_another_process() -> None:
    program = """
import sys, node_agent.render
from schemas import DesiredBody, body_sha256
print(body_sha256(DesiredBody.model_validate_json(sys.stdin.read())))
"""
    other = subprocess.run(
        [sys.executable, "-c", program], input=json.dumps(BODY), capture_output=True, text=True, check=True
    )
    assert other.stdout.strip() == body_sha256(_body(BODY))


def test_hash_survives_the_way_to_the_board_and_back() -> None:
    body = _body(BODY)
    for _ in range(3):
        body = DesiredBody.model_validate_json(body.model_dump_json())
    assert body_sha256(body) == body_sha256(_body(BODY))


def test_hash_changes_with_every_part_of_the_body() -> None:
    changes: list[Json] = [
        changed(BODY, ("telemetry_interval_s",), 6),
        changed(BODY, ("showing",), None),
        changed(BODY, ("showing_since_ms",), 8),
        changed(BODY, ("timetable", 0, "at_ms"), 8),
        changed(BODY, ("budgets", 0, "budget_a"), 3.3),
        changed(BODY, ("channels", 0, "pixels"), 31),
        changed(BODY, ("channels", 0, "white_balance", "red"), 0.99),
        changed(BODY, ("zones", 0, "extent", "length_m"), 1.5),
        changed(BODY, ("scenes", 0, "layers", 0, "pattern", "colour"), "#102031"),
        changed(BODY, ("scenes", 0, "layers"), BODY["scenes"][0]["layers"][::-1]),
    ]
    hashes = {body_sha256(_body(body)) for body in [BODY, *changes]}
    assert len(hashes) == len(changes) + 1
