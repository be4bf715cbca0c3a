import json

import pytest

from hub.statements import pattern_views
from tests.hub.cli.conftest import Stringcourse

ALONE = {"STRINGCOURSE_HUB": "http://127.0.0.1:9", "STRINGCOURSE_TOKEN": ""}


def test_all_patterns_are_listed_without_a_hub(stringcourse: Stringcourse) -> None:
    listed = stringcourse("pattern", "list", **ALONE)
    assert listed.returncode == 0, listed.stderr
    assert all(view.pattern in listed.stdout and view.sentence in listed.stdout for view in pattern_views())
    told = json.loads(stringcourse("pattern", "list", "--json", **ALONE).stdout)
    assert [one["pattern"] for one in told["patterns"]] == [view.pattern for view in pattern_views()]


def test_a_pattern_is_shown_with_unit_range_default_and_a_layer_to_paste(stringcourse: Stringcourse) -> None:
    said = " ".join(stringcourse("pattern", "show", "chase", **ALONE).stdout.split())
    assert "length_m 0.001 to 10000 m required Length of a stretch at full light." in said
    assert "tail_m 0 to 10000 m 0 Over what length it dies away behind the stretch." in said
    assert '- {zone: front, pattern: {pattern: chase, colour: "#ffd8a0", length_m: 0.4' in said


def test_what_a_layer_and_a_colour_may_state_is_shown(stringcourse: Stringcourse) -> None:
    said = " ".join(stringcourse("pattern", "layer", **ALONE).stdout.split())
    assert "blend normal, add, lighten, multiply normal" in said
    assert "kelvin 1000 to 20000 K required" in said


@pytest.mark.parametrize(("name", "words"), [("wosh", "did you mean wash?"), ("\x1b[2J", "use one of bands")])
def test_unknown_pattern_is_told_with_those_that_there_are(stringcourse: Stringcourse, name: str, words: str) -> None:
    done = stringcourse("pattern", "show", name, **ALONE)
    assert done.returncode == 5
    assert words in done.stderr
    assert "\x1b" not in done.stderr
