"""An hour of a healthy fleet opens no finding; then faults are put into it, and each is found and told once.

Time is simulated, the hub's loop, listeners, rules and database are the real ones. `STRINGCOURSE_FLEET=1000` makes it a
thousand boards for a whole hour and three faults of each kind; otherwise fewer, for a shorter time.
`STRINGCOURSE_SEED` draws everything anew.
"""

import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from hub.health.models import Finding
from hub.notify.models import Notice
from tests.fleet.faults import FAULTS, Faults, Injected
from tests.fleet.hub import SimulatedFleet

NODES = int(os.environ.get("STRINGCOURSE_FLEET", "96"))
SEED = int(os.environ.get("STRINGCOURSE_SEED", "1"))
WHOLE = NODES >= 1_000
HEALTHY_S = 3_600.0 if WHOLE else 600.0
FAULTS_S = 900.0
FAULTS_OF_A_KIND = 3 if WHOLE else 1


@pytest.fixture
def fleet(tmp_path: Path) -> Iterator[SimulatedFleet]:
    simulated = SimulatedFleet(tmp_path, NODES, seed=SEED)
    yield simulated
    simulated.close()


@pytest.mark.timeout(600)
def test_healthy_hour_opens_nothing_and_each_fault_is_told_once(fleet: SimulatedFleet) -> None:
    for _ in range(2):
        fleet.run_for(HEALTHY_S / 3)
        fleet.broker.restart()
    fleet.run_for(HEALTHY_S / 3)
    assert [_line(finding) for finding in fleet.findings()] == []
    assert fleet.broker.lost / fleet.broker.sent == pytest.approx(0.01, rel=0.2)
    faults = Faults(fleet)
    kinds = [what for what in FAULTS for _ in range(FAULTS_OF_A_KIND)]
    for place, what in enumerate(kinds):
        # Boards apart from one another, so that no two of them share a supply and the one of no fault is the other's.
        faults.inject(what, fleet.boards[place * (NODES // len(kinds))])
        fleet.run_for(7.0)
    fleet.run_for(FAULTS_S)
    told = fleet.told()
    assert Counter((finding.kind, finding.subject) for _, finding in told) == Counter(
        (fault.kind, fault.subject) for fault in faults.injected
    ), [_line(one) for one in fleet.findings()]
    _print_latencies(faults.injected, told)


def _line(finding: Finding) -> str:
    return f"{finding.kind.value} {finding.subject} x{finding.openings} {finding.evidence}"


def _print_latencies(injected: list[Injected], told: list[tuple[Notice, Finding]]) -> None:
    found = {(finding.kind, finding.subject): (notice, finding) for notice, finding in told}
    print(f"\n{NODES} boards, {HEALTHY_S:.0f} s healthy with two restarts of the broker: no finding.")
    print(f"{len(injected)} faults: shown on the page after, notified after, s")
    for what, (kind, _) in FAULTS.items():
        of_kind = [(one, *found[one.kind, one.subject]) for one in injected if one.what == what]
        shown = ", ".join(f"{finding.opened_at_ms / 1_000 - one.at_s:.1f}" for one, _, finding in of_kind)
        notified = ", ".join(f"{notice.made_at_ms / 1_000 - one.at_s:.1f}" for one, notice, _ in of_kind)
        print(f"  {what:32} {kind.value:16} {shown:24} {notified}")
