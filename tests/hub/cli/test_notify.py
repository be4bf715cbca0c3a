"""`stringcourse notify` as a process against a real server and a real receiver."""

import json
from collections.abc import Iterator

import pytest

from tests.hub.cli.conftest import Stringcourse
from tests.hub.desired.venues import row_venue
from tests.hub.edge import Edge
from tests.hub.notify.receiver import Receiver, open_receiver

SECRET = "tr0ub4dor-of-the-arcade"  # noqa: S105 (invented)


@pytest.fixture
def receiver(edge: Edge) -> Iterator[Receiver]:
    edge.inventory.load(row_venue(nodes=1))
    with open_receiver() as opened:
        yield opened


def test_somebody_is_added_tested_listed_and_removed(stringcourse: Stringcourse, receiver: Receiver) -> None:
    url = f"{receiver.address}/{SECRET}"
    hours = ("--from", "18:00", "--until", "02:00", "--weekday", "fri", "--weekday", "sat")
    added = stringcourse(
        "notify", "add", "desk", "--venue", "arcade", "--kind", "webhook", "--severity", "alarm", *hours,
        STRINGCOURSE_DESTINATION=url,
    )  # fmt: skip
    assert (added.returncode, added.stderr) == (0, "")
    assert "keyid arcade/desk" in added.stdout
    tested = stringcourse("notify", "test", "desk", "--venue", "arcade")
    assert (tested.returncode, tested.stdout.split()[0]) == (0, "taken")
    assert receiver.got[0].url == url
    listed = stringcourse("notify", "list", "--venue", "arcade")
    assert "alarm and worse 18:00-02:00" in listed.stdout
    assert SECRET not in added.stdout + tested.stdout + listed.stdout
    receiver.answers = lambda _request: 403
    refused = stringcourse("notify", "test", "desk", "--venue", "arcade")
    assert (refused.returncode, "answered 403" in refused.stdout) == (1, True)
    assert stringcourse("notify", "remove", "desk", "--venue", "arcade").returncode == 0
    assert stringcourse("notify", "list", "--venue", "arcade").stdout.startswith("nobody is told")


def test_heartbeat_takes_no_routes(stringcourse: Stringcourse, receiver: Receiver) -> None:
    added = stringcourse(
        "notify", "add", "alive", "--venue", "arcade", "--kind", "heartbeat", "--url", receiver.address, "--json"
    )
    assert json.loads(added.stdout)["destination"]["routes"] == []
    stringcourse("notify", "remove", "alive", "--venue", "arcade")


def test_no_dead_letters(stringcourse: Stringcourse, receiver: Receiver) -> None:
    done = stringcourse("notify", "letters", "--venue", "arcade")
    assert (done.returncode, done.stdout) == (0, "no dead letters\n")
    assert receiver.got == []


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("add", "desk", "--kind", "webhook"), 2, "STRINGCOURSE_DESTINATION"),
        (("add", "desk", "--kind", "webhook", "--url", "https://a.example.org/", "--from", "18:00"), 2, "--until"),
        (("add", "desk", "--kind", "webhook", "--url", "ftp://a.example.org/"), 2, "body.url"),
        (("test", "nobody"), 5, "destination"),
        (("resend", "1"), 5, "notice"),
    ],
)
def test_what_is_wrong_is_told_with_a_remedy(
    stringcourse: Stringcourse, receiver: Receiver, arguments: tuple[str, ...], code: int, said: str
) -> None:
    done = stringcourse("notify", *arguments, "--venue", "arcade")
    assert done.returncode == code, done.stderr
    assert said in done.stderr
    assert receiver.got == []
