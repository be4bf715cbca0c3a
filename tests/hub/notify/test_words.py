"""What a notice says, and in which order: what and where, likely cause, next check, cautions, where to read on."""

import json
from typing import Any
from zoneinfo import ZoneInfo

from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.models import Finding
from hub.notify.words import Teller, ended_message, opened_message
from tests.hub.notify.told import NOON_MS

TELLER = Teller("arcade", "Corn Exchange arcade", ZoneInfo("Europe/Vienna"), "http://192.0.2.10:8460")


def finding(**changes: object) -> Finding:
    fields: dict[str, Any] = {
        "id": 12,
        "venue": "arcade",
        "kind": FindingKind.SILENT,
        "severity": Severity.ALARM,
        "subject": "psu-3",
        "node": None,
        "cause_kind": CauseKind.SUPPLY,
        "cause": "psu-3",
        "started_at_ms": NOON_MS,
        "opened_at_ms": NOON_MS + 1_000,
        "message": "All 30 boards on supply psu-3 are silent.",
        "likely_cause": "The supply, or its fuse.",
        "next_check": "Volts at the supply's terminals.",
        "cautions": json.dumps(["Mains: a licensed electrician opens the supply."]),
        "evidence": "{}",
    }
    return Finding(**(fields | changes))


def members() -> list[Finding]:
    return [finding(id=100 + number, node=f"bay-{number:02}") for number in range(30)]


def test_what_opened_is_told_in_the_order_in_which_it_is_needed() -> None:
    message = opened_message("k" * 32, finding(), members(), TELLER, NOON_MS + 12_000)
    assert message.subject == "Alarm: All 30 boards on supply psu-3 are silent."
    named = ", ".join(f"bay-{number:02}" for number in range(20))
    assert message.text.splitlines() == [
        "Corn Exchange arcade: All 30 boards on supply psu-3 are silent.",
        "",
        "Since: 2031-05-03 14:00:00 (Europe/Vienna)",
        "Likely cause: The supply, or its fuse.",
        "Next check: Volts at the supply's terminals.",
        "Caution: Mains: a licensed electrician opens the supply.",
        f"Stands for 30 nodes: {named} and 10 more",
        "",
        "http://192.0.2.10:8460/#venue=arcade&finding=12",
    ]
    document = json.loads(message.document)
    assert (document["id"], document["about"], document["finding"]["cause"]["name"]) == ("k" * 32, "opened", "psu-3")
    assert len(document["finding"]["members"]) == 30


def test_what_a_fault_brings_with_it_on_its_node_is_named() -> None:
    one = finding(cause=None, cause_kind=None, node="bay-01", kind=FindingKind.RESTARTING)
    with_it = [finding(id=101, node="bay-01", cause=None, cause_kind=None)]
    lines = opened_message("k" * 32, one, with_it, TELLER, NOON_MS).text.splitlines()
    assert "Brings with it: silent" in lines
    assert not any(line.startswith("Stands for") for line in lines)


def test_what_is_over_says_since_when() -> None:
    over = finding(ended_at_ms=NOON_MS + 3_600_000)
    message = ended_message("k" * 32, over, members(), TELLER, NOON_MS + 4_210_000)
    assert message.subject == "Over: All 30 boards on supply psu-3 are silent."
    assert "Ended: 2031-05-03 15:00:00 (Europe/Vienna)" in message.text


def test_longest_words_fit_where_they_are_kept() -> None:
    message = opened_message("k" * 32, finding(message="x" * 400), (), TELLER, NOON_MS)
    assert len(message.subject) == 200
    assert "x" * 400 in message.text
