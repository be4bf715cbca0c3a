"""The life of findings in simulated time, on a real database: folded, unfolded, reopened, damped, muted."""

import json
from collections import Counter
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine, event
from sqlalchemy.exc import OperationalError

from hub.errors import ConflictError, InvalidError, NotFoundError
from hub.health.kinds import Change, FindingState
from hub.health.mute_view import MuteRequest
from hub.health.service import KEPT_MS, MAX_NOTES
from hub.health.table import FindingFilter
from schemas import Venue
from tests.hub.conftest import on_each_database
from tests.hub.health.simulated_fleet import START_S, SimulatedFleet

SUPPLY = [f"bay-{number}" for number in range(1, 9)]
FOYER = ["foyer-1", "foyer-2", "foyer-3"]
SPAN = {"channel": 1, "pixels": 10, "path": [[0, 0], [1, 0]]}
VENUE = Venue.model_validate_json(
    json.dumps(
        {
            "id": "arcade",
            "title": "Arcade",
            "supplies": [{"id": "psu-3", "volts": 5, "rated_a": 40}],
            "nodes": [{"id": name, "outputs": 1, "powered_by": "psu-3"} for name in SUPPLY]
            + [{"id": name, "outputs": 1} for name in FOYER],
            "zones": [{"id": "foyer", "spans": [SPAN | {"node": FOYER[0]}]}],
        }
    )
)
SETTLED_S = 10.0
MINUTE_S = 60.0


@pytest.fixture
def fleet(engine: Engine) -> Iterator[SimulatedFleet]:
    with SimulatedFleet(engine, VENUE) as fleet:
        fleet.pass_time(1.0)
        yield fleet


def changes(fleet: SimulatedFleet, finding_id: str) -> list[str]:
    return [one.change.value for one in fleet.health.finding(VENUE.id, int(finding_id)).changes]


def mute(fleet: SimulatedFleet, seconds: float, **wanted: object) -> str:
    until_ms = int((fleet.now_s + seconds) * 1000)
    request = MuteRequest.model_validate_json(json.dumps({"until_ms": until_ms, "reason": "new fascia"} | wanted))
    return fleet.health.mute(VENUE, request, "Ada").id


@on_each_database
def test_eight_of_eight_are_one_finding_that_names_the_supply(fleet: SimulatedFleet) -> None:
    fleet.cut(SUPPLY)
    fleet.pass_time(SETTLED_S)
    (told,) = fleet.findings()
    assert told.cause is not None
    assert (told.cause.kind, told.cause.name, told.supply, told.node) == ("supply", "psu-3", "psu-3", None)
    assert told.message.startswith("8 nodes fell silent together: bay-1, bay-2, bay-3, bay-4 and 4 more. ")
    assert any("licensed electrician" in caution for caution in told.cautions)
    assert any("fuse" in caution for caution in told.cautions)
    detail = fleet.health.finding(VENUE.id, int(told.id))
    assert [one.node for one in detail.member_findings] == SUPPLY
    assert detail.members == [one.id for one in detail.member_findings]
    assert all(one.folded_into == told.id for one in detail.member_findings)
    assert len(fleet.findings(folded=True)) == 9

    fleet.mend(SUPPLY)
    fleet.pass_time(SETTLED_S)
    assert fleet.findings(folded=True) == []
    assert changes(fleet, told.id) == ["opened", "ended"]
    assert {tuple(changes(fleet, one)) for one in detail.members} == {("opened", "folded", "ended")}


def test_two_of_eight_are_two_findings(fleet: SimulatedFleet) -> None:
    fleet.cut(SUPPLY[:2])
    fleet.pass_time(2 * MINUTE_S)
    assert fleet.told() == SUPPLY[:2]
    assert all(one.cause is None and one.folded_into is None for one in fleet.findings(folded=True))


def test_those_that_die_one_after_the_other_are_folded_as_the_last_does(fleet: SimulatedFleet) -> None:
    for name in SUPPLY:
        fleet.cut([name])
        fleet.pass_time(0.5)
    fleet.pass_time(2.0)
    assert fleet.told() == ["psu-3"]


def test_cause_that_is_disproved_leaves_those_that_are_still_silent_told_alone(fleet: SimulatedFleet) -> None:
    fleet.cut(SUPPLY)
    fleet.pass_time(SETTLED_S)
    (parent,) = fleet.findings()
    fleet.mend(SUPPLY[:6])
    fleet.pass_time(30.0)
    assert fleet.told() == ["psu-3"], "boards that get their power back need not all start at once"
    fleet.pass_time(MINUTE_S)
    assert fleet.told() == SUPPLY[6:]
    assert changes(fleet, parent.id) == ["opened", "ended"]
    assert {tuple(changes(fleet, one.id)) for one in fleet.findings()} == {("opened", "folded", "unfolded")}


def test_whole_venue_takes_over_from_a_supply(fleet: SimulatedFleet) -> None:
    fleet.cut(SUPPLY)
    fleet.pass_time(SETTLED_S)
    fleet.cut(FOYER)
    fleet.pass_time(SETTLED_S)
    assert fleet.told() == ["arcade"]
    assert len(fleet.findings(folded=True)) == 12


def test_finding_that_comes_back_within_ten_minutes_is_the_same(fleet: SimulatedFleet) -> None:
    fleet.cut(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    fleet.mend(FOYER[:1])
    fleet.pass_time(9 * MINUTE_S)
    fleet.cut(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    (again,) = fleet.findings()
    assert (again.openings, changes(fleet, again.id)) == (2, ["opened", "ended", "reopened"])
    fleet.mend(FOYER[:1])
    fleet.pass_time(11 * MINUTE_S)
    fleet.cut(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    (other,) = fleet.findings()
    assert (other.id != again.id, other.openings) == (True, 1)


@on_each_database
def test_what_comes_back_again_and_again_ends_after_ten_quiet_minutes(engine: Engine) -> None:
    with SimulatedFleet(engine, VENUE) as fleet:
        for _ in range(4):
            fleet.cut(FOYER[:1])
            fleet.pass_time(SETTLED_S)
            fleet.mend(FOYER[:1])
            fleet.pass_time(SETTLED_S)
        (open_still,) = fleet.findings()
        assert open_still.openings == 4
        now_s = fleet.now_s
    with SimulatedFleet(engine, VENUE, now_s) as restarted:
        restarted.pass_time(9 * MINUTE_S)
        assert len(restarted.findings()) == 1, "a hub that started again knows how often it came back"
        restarted.pass_time(MINUTE_S + 1)
        assert restarted.findings() == []
        assert changes(restarted, open_still.id).count("ended") == 4


def test_supply_that_flaps_is_one_finding_and_its_members_stay_folded(fleet: SimulatedFleet) -> None:
    for _ in range(5):
        fleet.cut(SUPPLY)
        fleet.pass_time(SETTLED_S)
        fleet.mend(SUPPLY)
        fleet.pass_time(SETTLED_S)
    everything = fleet.findings(open_only=None, folded=True)
    assert len(everything) == 9
    (parent,) = (one for one in everything if one.cause is not None)
    assert (parent.state, parent.openings) == (FindingState.OPEN, 4)
    fleet.cut(SUPPLY[:1])
    fleet.pass_time(2 * MINUTE_S)
    assert fleet.told() == SUPPLY[:1], "those that are well end with the cause, and are told to nobody"


@on_each_database
def test_restarted_hub_knows_what_was_folded(engine: Engine) -> None:
    with SimulatedFleet(engine, VENUE) as fleet:
        fleet.cut(SUPPLY)
        fleet.pass_time(SETTLED_S)
        before = fleet.findings(folded=True)
        now_s = fleet.now_s
    with SimulatedFleet(engine, VENUE, now_s) as restarted:
        restarted.cut(SUPPLY)
        restarted.pass_time(SETTLED_S)
        assert restarted.findings(folded=True) == before
        restarted.mend(SUPPLY)
        restarted.pass_time(SETTLED_S)
        assert restarted.findings(folded=True) == []
        assert len(restarted.findings(open_only=None, folded=True)) == 9


def test_transaction_that_fails_loses_and_doubles_nothing(fleet: SimulatedFleet, engine: Engine) -> None:
    """The database refuses for a while, at another statement each time."""
    refused = Counter[int]()
    statements = 0

    def refuse(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        nonlocal statements
        if statement.startswith(("INSERT", "UPDATE")):
            statements += 1
            if statements <= 6:
                refused[statements] += 1
                raise OperationalError(statement, None, RuntimeError("no space left on device"))

    event.listen(engine, "before_cursor_execute", refuse)
    fleet.cut(SUPPLY)
    failures = 0
    for _ in range(40):
        try:
            fleet.pass_time(0.5)
        except OperationalError:
            failures += 1
    event.remove(engine, "before_cursor_execute", refuse)
    assert failures == len(refused) == 6
    assert fleet.told() == ["psu-3"]
    told = Counter(one.change.change for one in fleet.health.changed_after(0, 1_000))
    assert told == {Change.OPENED: 9, Change.FOLDED: 8}


def test_acknowledged_finding_names_who_and_keeps_its_notes(fleet: SimulatedFleet) -> None:
    fleet.cut(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    (told,) = fleet.findings()
    finding_id = int(told.id)
    taken = fleet.health.acknowledge(VENUE.id, finding_id, "Ada", "on my way")
    assert (taken.state, taken.acknowledged_by, taken.note) == (FindingState.ACKNOWLEDGED, "Ada", "on my way")
    fleet.health.add_note(VENUE.id, finding_id, None, "fuse F2 was open")
    fleet.mend(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    with pytest.raises(ConflictError, match="has ended"):
        fleet.health.acknowledge(VENUE.id, finding_id, "Ada", None)
    fleet.health.add_note(VENUE.id, finding_id, "Bo", "cable rubbed through")
    history = fleet.health.finding(VENUE.id, finding_id).changes
    assert [(one.change.value, one.by, one.note) for one in history] == [
        ("opened", None, None),
        ("acknowledged", "Ada", "on my way"),
        ("noted", None, "fuse F2 was open"),
        ("ended", None, None),
        ("noted", "Bo", "cable rubbed through"),
    ]
    for number in range(MAX_NOTES - 2):
        fleet.health.add_note(VENUE.id, finding_id, "Bo", f"{number}")
    with pytest.raises(ConflictError, match="200 notes"):
        fleet.health.add_note(VENUE.id, finding_id, "Bo", "one more")
    with pytest.raises(NotFoundError):
        fleet.health.finding("other", finding_id)


@on_each_database
def test_planned_work_mutes_and_at_its_end_what_is_still_wrong_is_told(fleet: SimulatedFleet) -> None:
    mute(fleet, 300.0, zones=["foyer"], kinds=["silent"])
    fleet.cut(FOYER[:2])
    fleet.pass_time(SETTLED_S)
    states = {one.node: one.state for one in fleet.findings()}
    assert states == {FOYER[0]: FindingState.MUTED, FOYER[1]: FindingState.OPEN}
    fleet.pass_time(300.0)
    assert {one.state for one in fleet.findings()} == {FindingState.OPEN}
    muted = next(one for one in fleet.findings() if one.node == FOYER[0])
    history = fleet.health.finding(VENUE.id, int(muted.id)).changes
    assert [(one.change.value, one.by) for one in history] == [("opened", None), ("muted", "Ada"), ("unmuted", None)]


def test_open_finding_is_muted_at_once_and_told_as_the_work_is_lifted(fleet: SimulatedFleet) -> None:
    fleet.cut(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    mute_id = mute(fleet, 3_600.0, nodes=FOYER[:1])
    (muted,) = fleet.findings()
    assert muted.state is FindingState.MUTED
    assert fleet.health.open_counts(VENUE.id) == {("silent", "alarm", "muted"): 1}
    assert [one.made_by for one in fleet.health.mutes(VENUE.id, None, 10, over=False)] == ["Ada"]
    fleet.health.unmute(VENUE.id, int(mute_id), "Bo")
    (told,) = fleet.findings()
    assert told.state is FindingState.OPEN
    assert fleet.health.finding(VENUE.id, int(told.id)).changes[-1].by == "Bo"
    assert fleet.health.mutes(VENUE.id, None, 10, over=False) == []
    assert [one.lifted_by for one in fleet.health.mutes(VENUE.id, None, 10, over=True)] == ["Bo"]
    with pytest.raises(ConflictError, match="over already"):
        fleet.health.unmute(VENUE.id, int(mute_id), "Bo")


def test_folded_finding_is_muted_only_if_all_that_it_stands_for_are(fleet: SimulatedFleet) -> None:
    mute(fleet, 3_600.0, nodes=SUPPLY[:7])
    fleet.cut(SUPPLY)
    fleet.pass_time(SETTLED_S)
    (parent,) = fleet.findings()
    assert parent.state is FindingState.OPEN
    mute(fleet, 3_600.0, nodes=SUPPLY)
    (parent,) = fleet.findings()
    assert parent.state is FindingState.MUTED


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"nodes": ["bay-99"]}, "nodes.0"),
        ({"zones": ["cellar"]}, "zones.0"),
        ({"until_ms": 1}, "until_ms"),
        ({"from_ms": int(START_S * 1000) + 10_000_000}, "until_ms"),
        ({"until_ms": int(START_S * 1000) + 400 * 86_400_000}, "until_ms"),
    ],
)
def test_planned_work_that_makes_no_sense_is_refused(
    fleet: SimulatedFleet, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(InvalidError) as refused:
        mute(fleet, 100.0, **changed)
    assert [one.field for one in refused.value.mistakes] == [field]


def test_rollouts_see_what_began_or_came_back_since(fleet: SimulatedFleet) -> None:
    fleet.cut(FOYER[:2])
    fleet.pass_time(SETTLED_S)
    fleet.mend(FOYER[:2])
    fleet.pass_time(MINUTE_S)
    since_ms = int(fleet.now_s * 1000)
    assert fleet.health.opened_since(VENUE.id, since_ms) == []
    fleet.cut([FOYER[1], *SUPPLY])
    fleet.pass_time(SETTLED_S)
    assert sorted(one.node for one in fleet.health.opened_since(VENUE.id, since_ms)) == sorted([FOYER[1], *SUPPLY])


def test_clock_that_is_set_ends_and_disproves_nothing(fleet: SimulatedFleet) -> None:
    fleet.cut(SUPPLY)
    fleet.pass_time(SETTLED_S)
    fleet.mend(SUPPLY[:1])
    fleet.pass_time(1.0)
    fleet.now_s += 3_600.0
    fleet.pass_time(2.0)
    assert fleet.told() == ["psu-3"]
    assert len(fleet.findings(folded=True)) == 9
    fleet.pass_time(2.0)
    assert len(fleet.findings(folded=True)) == 8


def test_findings_are_forgotten_two_years_after_their_end(fleet: SimulatedFleet) -> None:
    fleet.cut(FOYER[:2])
    fleet.pass_time(SETTLED_S)
    fleet.mend(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    fleet.cut(SUPPLY[:1])
    fleet.pass_time(SETTLED_S)
    fleet.now_s += KEPT_MS / 1000
    fleet.pass_time(1.0)
    left = fleet.health.findings(VENUE.id, FindingFilter(), None, 10)
    assert [one.node for one in left] == [SUPPLY[0], FOYER[1]]
    assert {one.finding.node for one in fleet.health.changed_after(0, 100)} == {SUPPLY[0], FOYER[1]}


def test_numbers_are_given_once_though_everything_is_old(fleet: SimulatedFleet) -> None:
    for nodes in (FOYER[:1], FOYER[1:2]):
        fleet.cut(nodes)
        fleet.pass_time(SETTLED_S)
    fleet.mend(FOYER[1:2])
    fleet.pass_time(SETTLED_S)
    fleet.mend(FOYER[:1])
    fleet.pass_time(SETTLED_S)
    cursor = max(one.change.id or 0 for one in fleet.health.changed_after(0, 100))
    fleet.now_s += KEPT_MS / 1000 + 60
    fleet.pass_time(1.0)
    fleet.cut(FOYER[2:])
    fleet.pass_time(2 * SETTLED_S)
    assert [one.finding.node for one in fleet.health.changed_after(cursor, 100)] == FOYER[2:]
