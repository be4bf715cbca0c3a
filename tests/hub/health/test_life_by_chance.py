"""Nodes go, come back and start anew by chance, and the hub is killed as it writes: every fault is told once."""

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, event
from sqlmodel import Session, delete, select

from hub.health.cause import Cause, shares_of
from hub.health.explaining import EXPLAINED_BY
from hub.health.kinds import Change, FindingKind
from hub.health.models import Finding, FindingChange
from hub.health.rules.restarting import RESTARTS
from schemas import Venue
from tests.hub.health.simulated_fleet import START_S, SimulatedFleet

NODES = [f"n{number}" for number in range(6)]
SUPPLIES = ["psu-1", "psu-1", "psu-1", "psu-2", "psu-2", None]
SWITCHES = ["sw-1", "sw-1", None, "sw-2", "sw-2", "sw-2"]
VENUE = Venue.model_validate_json(
    json.dumps(
        {
            "id": "arcade",
            "title": "Arcade",
            "nodes": [
                {"id": name, "outputs": 1, "powered_by": supply, "network_switch": switch}
                for name, supply, switch in zip(NODES, SUPPLIES, SWITCHES, strict=True)
            ],
        }
    )
)
SHARES = shares_of(VENUE)
GROUPS = [["n0", "n1", "n2"], ["n3", "n4"], ["n0", "n1"], ["n3", "n4", "n5"], NODES, *([name] for name in NODES)]


class KilledError(Exception):
    """The hub ended between two statements."""


@dataclass
class Killer:
    """Kills whoever sends the statement that is counted down to; nothing of its transaction is kept."""

    statements_left: int | None = None

    def before(self, _connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if self.statements_left is None or not statement.startswith(("INSERT", "UPDATE")):
            return
        self.statements_left -= 1
        if self.statements_left < 0:
            self.statements_left = None
            raise KilledError


@dataclass
class Rows:
    """Everything that the database holds."""

    findings: dict[int, Finding]
    changes: dict[int, list[Change]] = field(default_factory=lambda: defaultdict(list))


def read(engine: Engine) -> Rows:
    with Session(engine) as session:
        rows = Rows({one.id or 0: one for one in session.exec(select(Finding))})
        for change in session.exec(select(FindingChange).order_by("id")):
            rows.changes[change.finding].append(change.change)
        return rows


def check(rows: Rows) -> None:
    open_now = {finding_id: one for finding_id, one in rows.findings.items() if one.ended_at_ms is None}
    subjects = [(one.kind, one.subject) for one in open_now.values()]
    assert len(subjects) == len(set(subjects)), "one thing is told twice"
    for finding_id, finding in rows.findings.items():
        history = rows.changes[finding_id]
        lives = [one for one in history if one in (Change.OPENED, Change.REOPENED, Change.ENDED)]
        expected = [Change.OPENED if place == 0 else Change.REOPENED for place in range(finding.openings)]
        assert [one for one in lives if one is not Change.ENDED] == expected
        assert [one is Change.ENDED for one in lives] == [place % 2 == 1 for place in range(len(lives))]
        assert (lives[-1] is Change.ENDED) == (finding.ended_at_ms is not None)
        moves = [one for one in history if one in (Change.FOLDED, Change.UNFOLDED)]
        assert (bool(moves) and moves[-1] is Change.FOLDED) == (finding.folded_into is not None)
    for finding in open_now.values():
        if finding.folded_into is not None:
            parent = open_now.get(finding.folded_into)
            assert parent is not None, "folded into one that has ended: told by nobody"
            assert parent.folded_into is None, "what stands for it does not stand for itself"
            assert parent.kind in (finding.kind, *EXPLAINED_BY[finding.kind])
            if parent.cause_kind is not None and parent.cause is not None:
                assert finding.subject in SHARES.nodes_of[Cause(parent.cause_kind, parent.cause)]
            else:
                assert (parent.kind is not finding.kind, parent.subject) == (True, finding.subject)
        if finding.cause is not None:
            assert finding.folded_into is None
            members = [one for one in open_now.values() if one.folded_into == finding.id and one.kind is finding.kind]
            assert members, "a cause stands for nothing"


@pytest.fixture
def killer(engine: Engine) -> Iterator[Killer]:
    killer = Killer()
    event.listen(engine, "before_cursor_execute", killer.before)
    yield killer
    event.remove(engine, "before_cursor_execute", killer.before)


Step = tuple[str, list[str], float, int | None]
STEPS = st.lists(
    st.tuples(
        st.sampled_from(["cut", "mend", "restart"]),
        st.sampled_from(GROUPS),
        st.sampled_from([0.5, 1.5, 4.0, 12.0, 70.0]),
        st.none() | st.integers(0, 12),
    ),
    min_size=2,
    max_size=14,
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_whatever_happens_every_fault_is_told_once(engine: Engine, killer: Killer, steps: list[Step]) -> None:
    with Session(engine) as session:
        session.execute(delete(FindingChange))
        session.execute(delete(Finding))
        session.commit()
    off: dict[str, float] = {}
    fleet = SimulatedFleet(engine, VENUE)
    fleet.loop.start()
    try:
        for what, nodes, duration_s, kill_at in steps:
            if what == "cut":
                off |= {node: off.get(node, fleet.now_s) for node in nodes}
                fleet.cut(nodes)
            else:
                off = {node: since_s for node, since_s in off.items() if node not in nodes}
                if what == "restart":
                    for _ in range(RESTARTS):
                        fleet.start_anew(nodes)
                fleet.mend(nodes)
            killer.statements_left = kill_at
            try:
                fleet.pass_time(duration_s)
            except KilledError:
                check(read(engine))
                fleet.loop.stop()
                fleet = SimulatedFleet(engine, VENUE, fleet.now_s)
                fleet.loop.start()
                fleet.cut(off)
                fleet.pass_time(2.0)
            killer.statements_left = None
            rows = read(engine)
            check(rows)
            told = {
                one.subject
                for one in rows.findings.values()
                if one.ended_at_ms is None and one.cause is None and one.kind is FindingKind.SILENT
            }
            assert told >= {node for node, since_s in off.items() if fleet.now_s - since_s > 2.0}
    finally:
        fleet.loop.stop()
    assert fleet.now_s >= START_S
