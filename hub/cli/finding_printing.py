"""Findings for a person to read."""

from collections.abc import Sequence
from typing import Any

from hub.cli.printing import print_table, say
from hub.cli.times import local_time


def print_findings(findings: Sequence[dict[str, Any]]) -> None:
    """A row each."""
    columns = ("finding", "since", "until", "state", "severity", "kind", "where", "what is wrong", "what to check")
    rows = [
        (
            one["id"],
            local_time(one["started_at_ms"]),
            local_time(one["ended_at_ms"]),
            one["state"],
            one["severity"],
            one["kind"],
            where(one),
            one["message"],
            one["next_check"],
        )
        for one in findings
    ]
    print_table(columns, rows)


def print_finding(found: dict[str, Any]) -> None:
    """All of one: cautions come before what to do."""
    say(f"finding {found['id']}: {found['message']}")
    say(f"{found['severity']}, {found['state']}, since {local_time(found['started_at_ms'])}")
    if found["openings"] > 1:
        say(f"came back: told {found['openings']} times")
    say()
    for caution in found["cautions"]:
        say(f"Caution: {caution}")
    say(f"Likely cause: {found['likely_cause']}")
    say(f"Next check: {found['next_check']}")
    if found["folded_into"] is not None:
        say(f"Told by finding {found['folded_into']}.")
    if found["member_findings"]:
        say()
        say("It stands for:")
        print_findings(found["member_findings"])
    say()
    rows = [(local_time(one["at_ms"]), one["change"], one["by"], one["note"]) for one in found["changes"]]
    print_table(("when", "what happened", "by", "note"), rows)


def where(finding: dict[str, Any]) -> str | None:
    """The cause that nodes share, else the supply, else the node."""
    if finding["cause"] is not None:
        return f"{finding['cause']['kind']} {finding['cause']['name']}"
    if finding["supply"] is not None:
        return f"supply {finding['supply']}"
    return None if finding["node"] is None else str(finding["node"])
