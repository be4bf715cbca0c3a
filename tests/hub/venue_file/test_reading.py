"""A bad file is named for its fault. Where it is faulty it says so itself: `# mistake: FIELD REASON [~ REMEDY]`."""

import re
from pathlib import Path

import pytest

from hub.errors import InvalidError, Mistake
from hub.validation import ID_PATTERN
from hub.venue_file import read_venue, read_venue_file
from schemas.bounds import MAX_VENUE_FILE_BYTES
from schemas.venue import Venue

HERE = Path(__file__).parent
GOOD = HERE / "kiosk.yaml"
FAULTY = sorted((HERE / "faulty").glob("*.yaml"))
DEMO = sorted((HERE.parents[2] / "deploy" / "demo").glob("*.yaml"))


def mistakes_in(data: bytes) -> list[Mistake]:
    with pytest.raises(InvalidError) as raised:
        read_venue(data)
    return list(raised.value.mistakes)


def test_good_file_is_read_whole() -> None:
    venue = read_venue_file(GOOD)
    assert (venue.id, len(venue.supplies), len(venue.nodes), len(venue.zones), len(venue.scenes)) == (
        "kiosk",
        2,
        1,
        3,
        1,
    )


@pytest.mark.parametrize("file", DEMO, ids=lambda file: file.stem)
def test_demo_venue_has_no_mistake(file: Path) -> None:
    assert isinstance(read_venue_file(file), Venue)


@pytest.mark.parametrize("file", FAULTY, ids=lambda file: file.stem)
def test_every_mistake_is_named_with_its_line(file: Path) -> None:
    expected = []
    for number, line in enumerate(file.read_text().splitlines(), 1):
        for said in re.findall(r"# mistake: (.*?)(?=  # mistake|$)", line):
            field, _, reason = said.partition(" ")
            reason, _, remedy = reason.partition(" ~ ")
            expected.append((number, field, reason, remedy))
    found = mistakes_in(file.read_bytes())
    assert sorted((mistake.line, mistake.field) for mistake in found) == sorted(
        (number, field) for number, field, _, _ in expected
    )
    for number, field, reason, remedy in expected:
        (mistake,) = [one for one in found if (one.line, one.field) == (number, field)]
        assert reason in mistake.reason
        assert remedy in mistake.remedy
        assert mistake.remedy


@pytest.mark.parametrize(
    ("data", "reason", "line"),
    [
        (b"", "not a group of fields", 1),
        (b"- 1\n", "not a group of fields", 1),
        (b"id: kiosk\ntitle: [Kiosk\n", "not well-formed YAML", 3),
        (b"id: kiosk\n\ttitle: x\n", "not well-formed YAML", 2),
        (b"id: kiosk\ntitle: \xff\n", "not UTF-8", 2),
        (b"id: kiosk\ntitle: a\x07b\n", "character that YAML forbids", 2),
        (b"id: kiosk\n---\nid: other\n", "second document", 2),
        (b"id: kiosk\ntitle: *name\n", "alias *name has no anchor", 2),
        (b"id: kiosk\nnote: &name [*name]\n", "alias *name has no anchor", 2),
        (b"id: kiosk\n? [a]\n: b\n", "stands as a key", 2),
        (b"id: kiosk\nnote: " + b"[" * 40 + b"]" * 40, "nested more than 32 deep", 2),
        (b"id: " + b"[" * 100_000, "", 1),
    ],
)
def test_what_cannot_be_read_at_all_is_told_with_its_line(data: bytes, reason: str, line: int) -> None:
    (mistake,) = mistakes_in(data)
    assert reason in mistake.reason
    assert mistake.line == line
    assert mistake.field == "file"
    assert mistake.remedy


def test_aliases_that_unfold_without_end_are_refused() -> None:
    bomb = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    bomb += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    (mistake,) = mistakes_in("\n".join(bomb).encode())
    assert "unfolds to more than" in mistake.reason


def test_alias_stands_for_what_its_anchor_holds() -> None:
    text = GOOD.read_text().replace("length_m: 3}", "length_m: 3}").replace("- zone: sill", "- zone: &sill sill")
    text = text.replace("of: [sill, lintel]", "of: [sill, lintel]").replace("opening_scene: evening\n", "")
    text += "      - zone: *sill\n        pattern: {pattern: wash, colour: '#000001'}\n"
    assert [layer.zone for layer in read_venue(text.encode()).scenes[0].layers] == ["whole", "sill", "sill"]


def test_time_of_day_within_braces_is_asked_for_in_quotes() -> None:
    (mistake,) = mistakes_in(b"id: kiosk\ntitle: Kiosk\ntimetable:\n  - {id: a, begins: 18:00, ends: 19:00}\n")
    assert (mistake.line, 'in quotes: "18:30"' in mistake.remedy) == (4, True)
    block = b"id: kiosk\ntitle: Kiosk\ntimetable:\n  - id: a\n    begins: 18:00\n    ends: 19:00\n"
    assert read_venue(block).timetable[0].begins == "18:00"


def test_words_like_yes_and_on_are_text() -> None:
    text = GOOD.read_text().replace("title: Kiosk", "title: yes").replace("title: Evening", "title: on")
    venue = read_venue(text.encode())
    assert (venue.title, venue.scenes[0].title) == ("yes", "on")


def test_file_that_is_too_large_is_refused_before_it_is_parsed(tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    file.write_bytes(b"#" * (MAX_VENUE_FILE_BYTES + 1))
    with pytest.raises(InvalidError, match=r"large\.yaml: the venue file is too large"):
        read_venue_file(file)


def test_file_that_never_ends_is_refused() -> None:
    with pytest.raises(InvalidError, match="too large"):
        read_venue_file(Path("/dev/zero"))


def test_file_that_is_not_there_is_named() -> None:
    with pytest.raises(InvalidError, match=r"missing\.yaml cannot be read"):
        read_venue_file(Path("missing.yaml"))


def test_json_is_read_as_yaml_and_as_json() -> None:
    document = read_venue_file(GOOD).model_dump_json().encode()
    assert read_venue(document) == read_venue(document, is_json=True) == read_venue_file(GOOD)


@pytest.mark.parametrize(
    ("data", "field", "reason"),
    [
        (b"{", "file", "not well-formed JSON"),
        (b"[" * 200_000, "file", "not well-formed JSON"),
        (b'{"id": "a", "id": "b", "title": "x"}', "id", "twice"),
        (b'{"id": "a", "title": 5}', "title", "must be text"),
        (
            b'{"id": "a", "title": "x", "supplies": [{"id": "s", "volts": NaN, "rated_a": 1}]}',
            "supplies[0].volts",
            "finite",
        ),
    ],
)
def test_mistake_in_json_has_no_line(data: bytes, field: str, reason: str) -> None:
    with pytest.raises(InvalidError) as raised:
        read_venue(data, is_json=True)
    (mistake,) = raised.value.mistakes
    assert (mistake.field, mistake.line) == (field, None)
    assert reason in mistake.reason


def test_file_of_nothing_but_dangling_ids_is_checked_in_time() -> None:
    spans = "\n".join(f"      - {{node: n-{n}x, channel: 1, pixels: 1, path: [[0, 0], [1, 0]]}}" for n in range(2_000))
    nodes = "\n".join(f"  - {{id: n-{n}, outputs: 1}}" for n in range(5_000))
    text = f"id: big\ntitle: Big\nnodes:\n{nodes}\nzones:\n  - id: z\n    spans:\n{spans}\n"
    assert len(mistakes_in(text.encode())) == 2_000


def test_id_pattern_in_the_wording_is_the_one_of_the_contracts() -> None:
    assert re.fullmatch(ID_PATTERN, "bay-01")
    assert not re.fullmatch(ID_PATTERN, "Bay")
