"""A finding of a rule of its own, for tests of what becomes of findings once they are there."""

from hub.health.kinds import FindingKind, Severity
from hub.health.models import Finding
from hub.health.rule import Fault, Hysteresis, Rule, Subject, Words
from hub.health.table import FindingTable, new_finding


def invented_finding(venue: str, kind: FindingKind, node: str, started_at_ms: int = 0) -> Finding:
    rule = Rule(kind, Severity.WARNING, Hysteresis(1.0, 1.0), lambda _name, _evidence: Words("m", "l", "c"))
    return new_finding(
        Subject(venue, kind, node), rule, Fault(node, {}), started_at_ms=started_at_ms, opened_at_ms=started_at_ms
    )


def store(table: FindingTable, findings: list[Finding]) -> None:
    with table.ledger(0) as ledger:
        ledger.open(findings)
