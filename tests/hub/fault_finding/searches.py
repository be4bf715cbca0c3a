"""Searches played without a hub: knowledge of an invented board, and a walk along answers."""

import json
from collections.abc import Sequence
from typing import Any

from hub.audit.report import standing_of
from hub.electrical.levels import Level
from hub.fault_finding.course import Course, Given, Tree, answered, begin, known_on, standing
from hub.fault_finding.gathering import lowest_of
from hub.fault_finding.knowledge import Heard, Knowledge, OpenFinding
from hub.fault_finding.step import Diagnosis, Question
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree import TREE
from hub.health.kinds import FindingKind
from schemas import Reported, Venue
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.played_node import telemetry

SHOWING = {"revision": 1, "sha256": "0" * 64}
FUSE_A = 3.0


def one_board(pixels: int = 50, **of_node: Any) -> Venue:  # noqa: ANN401 (any field of a node)
    """One board with two runs of 5 V pixels on a supply of 4 A; every feed of 0.75 mm² has a fuse of 3 A."""
    document = row_document(nodes=1, pixels=pixels)
    (node,) = document["nodes"]
    for channel in node["channels"]:
        channel["run"]["feeds"][0]["fuse_a"] = FUSE_A
    return venue_from(document | {"nodes": [node | of_node]})


def heard(scene: str | None = "dusk", **told: Any) -> Heard:  # noqa: ANN401 (any field of telemetry)
    """A healthy board that shows a scene, with some figures changed."""
    reported = {"boot_id": "0a0b0c0d", "session": 1, "showing": SHOWING, "scene": scene}
    supplies = [{"supply": "psu-bay-0001", "amps": 1.0, "highest_a": 1.0, "limiter_scale": 1.0, "wanted_a": 1.0,
                 "charge_ah": 0.0}]  # fmt: skip
    figures = {"supplies": supplies, "temperature_c": 45.0} | told
    return Heard(True, 1_000.0, telemetry(**figures), Reported.model_validate_json(json.dumps(reported)))


def knowledge(venue: Venue, channel: int | None = 1, said: Heard | None = None, **more: Any) -> Knowledge:  # noqa: ANN401
    """What the hub knows of the first board of a venue, its volts as the audit solves them."""
    node = venue.nodes[0]
    run = None if channel is None else next(one for one in node.channels if one.number == channel)
    lowest = None
    if channel is not None:
        lowest = lowest_of(standing_of(venue).volts(node.id, channel, Level.UNDER_BUDGET))
    said = heard() if said is None else said
    online = {one.id: True for one in venue.nodes} | {node.id: said.online}
    findings = [] if said.online else [OpenFinding(FindingKind.SILENT, f"{node.id} is silent")]
    known: dict[str, Any] = {"findings": findings, "heard": said, "online": online, "lowest": lowest}
    return Knowledge(venue=venue, node=node, channel=run, **known | more)


def walked(know: Knowledge, symptom: Symptom, answers: Sequence[str], tree: Tree = TREE) -> Course:
    """The course after a person's answers, the hub's own in between."""
    number = None if know.channel is None else know.channel.number
    course = known_on(tree, begin(tree, know.node, number, symptom), know, 0)
    for answer in answers:
        course = known_on(tree, answered(tree, course, know, answer, Given(0)), know, 0)
    return course


def diagnosed(know: Knowledge, symptom: Symptom, *answers: str) -> Diagnosis:
    """The diagnosis that answers lead to; fails where they lead to a question."""
    step = standing(TREE, walked(know, symptom, answers), know)
    assert isinstance(step, Diagnosis), step
    return step


def asked(know: Knowledge, symptom: Symptom, *answers: str) -> Question:
    """The question that answers lead to."""
    step = standing(TREE, walked(know, symptom, answers), know)
    assert isinstance(step, Question), step
    return step
