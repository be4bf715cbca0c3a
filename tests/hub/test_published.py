import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from hub.published import ASYNCAPI_FILE, contracts, main, out_of_date, published, schema_file, write
from schemas.asyncapi import WIRES
from schemas.topics import ROOT, Leaf

HOUSE = Path(__file__).parent.parent.parent
PUBLISHED = HOUSE / "schemas" / "published"
# Fetched by deploy/test from the npm package @asyncapi/specs.
OFFICIAL = HOUSE / ".cache/asyncapi/node_modules/@asyncapi/specs/schemas/3.0.0.json"

Json = dict[str, Any]


@pytest.fixture(scope="module")
def document() -> Json:
    loaded: Json = json.loads((PUBLISHED / ASYNCAPI_FILE).read_text(encoding="utf-8"))
    return loaded


def test_published_files_are_current() -> None:
    assert out_of_date(PUBLISHED) == []


@pytest.mark.parametrize("contract", contracts(), ids=lambda contract: contract.__name__)
def test_published_schema_is_valid_json_schema_2020_12(contract: type) -> None:
    schema = json.loads((PUBLISHED / schema_file(contract)).read_text(encoding="utf-8"))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)


def test_check_names_what_is_changed_missing_and_left_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path)
    assert main([str(tmp_path), "--check"]) == 0
    (tmp_path / "venue.schema.json").write_text("{}")
    (tmp_path / "take.schema.json").unlink()
    (tmp_path / "forgotten.schema.json").write_text("{}")
    capsys.readouterr()
    assert main([str(tmp_path), "--check"]) == 1
    said = capsys.readouterr().out.splitlines()
    assert [Path(line.split(": ")[1]).name for line in said] == [
        "forgotten.schema.json",
        "take.schema.json",
        "venue.schema.json",
    ]
    assert (tmp_path / "venue.schema.json").read_text() == "{}", "--check writes nothing"


def test_writing_brings_a_folder_up_to_date(tmp_path: Path) -> None:
    folder = tmp_path / "not made yet"
    assert main([str(folder)]) == 0
    assert {path.name for path in folder.iterdir()} == set(published())
    (folder / "take.schema.json").write_bytes(b"\xff")
    (folder / "forgotten.schema.json").write_text("{}")
    assert main([str(folder)]) == 0
    assert main([str(folder), "--check"]) == 0


def test_folder_that_cannot_be_written_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("")
    assert main([str(tmp_path / "file")]) == 2
    assert str(tmp_path / "file") in capsys.readouterr().err


def test_asyncapi_document_holds_against_the_official_schema(document: Json) -> None:
    if not OFFICIAL.exists():
        pytest.skip("the official schema is not here: `bash deploy/test` fetches it")
    validator = jsonschema.Draft7Validator(json.loads(OFFICIAL.read_text(encoding="utf-8")))
    assert [error.message for error in validator.iter_errors(document)] == []
    spoiled = json.loads(json.dumps(document))
    spoiled["operations"]["hubSendsTake"]["bindings"]["mqtt"]["qos"] = 3
    assert not validator.is_valid(spoiled)


def _references(value: object) -> set[str]:
    if isinstance(value, dict):
        own = {value["$ref"]} if isinstance(value.get("$ref"), str) else set()
        return own.union(*(_references(item) for item in value.values()))
    if isinstance(value, list):
        return set().union(*(_references(item) for item in value))
    return set()


def test_every_reference_of_the_asyncapi_document_leads_somewhere(document: Json) -> None:
    for reference in _references(document):
        if reference.startswith("#/"):
            place: Any = document
            for step in reference[2:].split("/"):
                place = place[step]
        else:
            assert (PUBLISHED / reference).is_file(), reference


def test_asyncapi_document_has_every_topic_with_a_sender_and_a_receiver(document: Json) -> None:
    assert {channel["address"] for channel in document["channels"].values()} == {
        *(f"{ROOT}/{{venue}}/node/{{node}}/{leaf}" for leaf in Leaf),
        f"{ROOT}/{{venue}}/all/take",
    }
    for wire in WIRES:
        channel = {"$ref": f"#/channels/{wire.name}"}
        actions = [op["action"] for op in document["operations"].values() if op["channel"] == channel]
        assert sorted(actions) == ["receive", "send"]
        parameters = set(document["channels"][wire.name]["parameters"])
        assert parameters == set(re.findall(r"{(\w+)}", wire.address))


@pytest.mark.parametrize(
    ("operation", "qos", "retain"),
    [
        ("hubSendsDesired", 1, True),
        ("nodeSendsReported", 1, True),
        ("nodeSendsPresence", 1, True),
        ("nodeSendsTelemetry", 0, False),
        ("hubSendsAsk", 1, False),
        ("nodeSendsAnswer", 1, False),
        ("hubSendsTake", 1, False),
    ],
)
def test_quality_of_service_is_what_the_design_says(document: Json, operation: str, qos: int, retain: bool) -> None:
    mqtt = document["operations"][operation]["bindings"]["mqtt"]
    assert (mqtt["qos"], mqtt["retain"]) == (qos, retain)


def test_all_subscriptions_are_at_qos_0(document: Json) -> None:
    received = [op["bindings"]["mqtt"]["qos"] for op in document["operations"].values() if op["action"] == "receive"]
    assert received == [0] * len(WIRES)
