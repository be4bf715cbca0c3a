"""Nothing that is printed can steer a terminal."""

import json

import pytest

from hub.cli.printing import print_json, print_mistakes, print_table, printable, say
from hub.errors import Mistake

STEERING = ["\x1b[2J", "\r", "\n", "\x07", "\x9b31m", "\u202e", "\u200b", "\u2028", "\x00", "\x7f", "\ud800"]


@pytest.mark.parametrize("steering", STEERING)
def test_what_could_steer_a_terminal_is_shown_as_an_escape(steering: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = f"bay{steering}01"
    assert steering not in printable(text)
    say(text)
    print_table(("node", text), [(text, 1)])
    print_mistakes([Mistake(text, text, text, 2)], error=False)
    print_json({"node": text})
    printed = capsys.readouterr().out
    assert text not in printed
    assert printed.count("bay") == 7
    assert all(character == "\n" or character.isprintable() for character in printed)


def test_plain_text_of_any_script_stays() -> None:
    assert printable("Fachada – 1º µ × “ok” 店") == "Fachada – 1º µ × “ok” 店"


def test_markup_is_printed_as_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    print_table(("name",), [("[red]bay[/red] :smile:",)])
    assert "[red]bay[/red] :smile:" in capsys.readouterr().out


def test_nothing_is_folded_away_off_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    print_table(("a", "b"), [("x" * 150, "y" * 150)])
    assert f"{'x' * 150}  {'y' * 150}" in capsys.readouterr().out


def test_absent_value_is_a_dash_to_people_and_null_to_programs(capsys: pytest.CaptureFixture[str]) -> None:
    print_table(("amps",), [(None,)])
    assert "–" in capsys.readouterr().out
    print_json({"amps": None})
    assert json.loads(capsys.readouterr().out) == {"amps": None}
