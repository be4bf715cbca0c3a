import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from schemas import Leaf, NodeTopic, Venue, node_topic, parse_node_topic, take_topic, venue_subscription
from schemas.contract import Id
from schemas.topics import ROOT
from tests.schemas.examples import VENUE, changed

IDS = st.from_regex(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?", fullmatch=True)
ID = TypeAdapter(Id)

HOSTILE_IDS = {
    "empty": "",
    "one too long": "a" * 41,
    "level separator": "a/b",
    "leading separator": "/a",
    "one-level wildcard": "+",
    "wildcard inside": "a+b",
    "many-level wildcard": "#",
    "broker's own topics": "$SYS",
    "parent folder": "..",
    "path out": "../../etc",
    "Windows path": "a\\b",
    "dot": "a.b",
    "newline inside": "a\nb",
    "newline at the end": "a\n",
    "carriage return at the end": "a\r",
    "line separator at the end": "a\u2028",
    "NUL": "a\0b",
    "NUL at the end": "a\0",
    "space": "a b",
    "tab": "a\t",
    "upper case": "A",
    "underscore": "a_b",
    "leading hyphen": "-a",
    "trailing hyphen": "a-",
    "percent escape": "%2e%2e",
    "Cyrillic look-alike": "b\u0430y",
    "full-width look-alike": "\uff41",
    "full-width slash": "a\uff0fb",
    "Arabic digit": "a\u0661",
    "dotless i": "\u0131d",
    "combining mark": "a\u0301",
    "zero-width space": "a\u200bb",
    "right-to-left mark": "a\u202e",
    "shell": "a;reboot",
    "format": "{venue}",
}


@given(venue=IDS, node=IDS, leaf=st.sampled_from(Leaf))
def test_topic_that_was_built_parses_back_to_its_parts(venue: str, node: str, leaf: Leaf) -> None:
    topic = node_topic(venue, node, leaf)
    assert parse_node_topic(topic) == NodeTopic(venue, node, leaf)
    assert topic.count("/") == 5


@given(IDS)
def test_contract_and_topic_agree_on_what_an_id_is(identifier: str) -> None:
    assert ID.validate_python(identifier) == identifier
    assert take_topic(identifier) == f"{ROOT}/{identifier}/all/take"


@given(st.text())
def test_any_text_is_an_id_to_both_or_to_neither(text: str) -> None:
    def contract_takes() -> bool:
        try:
            ID.validate_python(text)
        except ValidationError:
            return False
        return True

    def topic_takes() -> bool:
        try:
            take_topic(text)
        except ValueError:
            return False
        return True

    assert contract_takes() == topic_takes()


@pytest.mark.parametrize("identifier", HOSTILE_IDS.values(), ids=HOSTILE_IDS.keys())
def test_hostile_id_reaches_no_topic(identifier: str) -> None:
    with pytest.raises(ValueError, match="not an id"):
        node_topic(identifier, "node", Leaf.DESIRED)
    with pytest.raises(ValueError, match="not an id"):
        node_topic("venue", identifier, Leaf.DESIRED)
    with pytest.raises(ValueError, match="not an id"):
        take_topic(identifier)
    with pytest.raises(ValueError, match="not an id"):
        venue_subscription(identifier, Leaf.REPORTED)


@pytest.mark.parametrize(
    "path",
    [
        ("id",),
        ("opening_scene",),
        ("supplies", 0, "id"),
        ("nodes", 0, "id"),
        ("nodes", 0, "channels", 0, "run", "pixel_type"),
        ("nodes", 0, "channels", 0, "run", "feeds", 0, "supply"),
        ("zones", 0, "id"),
        ("zones", 0, "spans", 0, "node"),
        ("zones", 1, "of", 0),
        ("scenes", 0, "id"),
        ("scenes", 0, "layers", 0, "zone"),
        ("pixel_types", 0, "key"),
    ],
)
@pytest.mark.parametrize("identifier", HOSTILE_IDS.values(), ids=HOSTILE_IDS.keys())
def test_hostile_id_enters_no_venue(path: tuple[str | int, ...], identifier: str) -> None:
    with pytest.raises(ValidationError) as refused:
        Venue.model_validate_json(json.dumps(changed(VENUE, path, identifier)))
    assert [error["loc"] for error in refused.value.errors()] == [path]


@pytest.mark.parametrize(
    "topic",
    [
        "",
        "/",
        "stringcourse/v1/shop/node/board/desired/",
        "/stringcourse/v1/shop/node/board/desired",
        "stringcourse/v1/shop/node/board/desired\n",
        "stringcourse/v1/shop/node/board",
        "stringcourse/v1/shop/node/board/unheard",
        "stringcourse/v1/shop/node/board/Desired",
        "stringcourse/v1/shop/node/+/desired",
        "stringcourse/v1/shop/node/#",
        "stringcourse/v1/shop/node//desired",
        "stringcourse/v1//node/board/desired",
        "stringcourse/v1/shop/all/take",
        "stringcourse/v2/shop/node/board/desired",
        "stringcourse/v1/shop/node/board/extra/desired",
        "stringcourse/v1/shop/node/" + "b" * 41 + "/desired",
        "x" * 65_535,
        "stringcourse/v1/sh\0p/node/board/desired",
    ],
)
def test_topic_of_another_shape_parses_to_nothing(topic: str) -> None:
    assert parse_node_topic(topic) is None


@given(st.text())
def test_any_text_parses_to_nothing_or_to_what_builds_it_again(text: str) -> None:
    parsed = parse_node_topic(f"{ROOT}/{text}")
    assert parsed is None or node_topic(parsed.venue, parsed.node, parsed.leaf) == f"{ROOT}/{text}"
