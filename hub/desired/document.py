"""Compiled bodies as the bytes that travel: canonical JSON, its hash, and the envelope around it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import BaseModel

from hub.desired.choices import Choices
from hub.desired.compile import compile_bodies
from hub.desired.work_light import WORK_LIGHT, with_work_light
from hub.errors import InvalidError, Mistake, NotFoundError
from schemas import DesiredBody, Held, TakeTime, Venue
from schemas.bounds import MAX_DESIRED_BYTES, TELEMETRY_INTERVAL_S

ENVELOPE_BYTES = 1024
TIMETABLE_BYTES = 64 * 1024
_REMEDY = "shorten the scenes (fewer layers, spot spans or path points) or split the node's runs over two nodes"


@dataclass(frozen=True, slots=True)
class CompiledNode:
    """A node's body with its canonical JSON and the hash that covers it.

    The JSON is kept in two parts, before and after what is chosen to show: takes of a venue differ in that alone.
    """

    body: DesiredBody
    head: str
    tail: str
    sha256: str

    @property
    def canonical(self) -> str:
        return f"{self.head}{_choice_canonical(self.body, {})}{self.tail}"

    def held(self, revision: int) -> Held:
        """What a node that holds this under `revision` reports."""
        return Held.model_construct(revision=revision, sha256=self.sha256)


def compile_documents(venue: Venue, choices: Choices, telemetry_interval_s: float) -> dict[str, CompiledNode]:
    """Bodies of every node, hashed and held against MAX_DESIRED_BYTES.

    Raises what `compile_bodies` does, and InvalidError naming each node whose document is too large.
    """
    _require_scenes(venue, choices)
    scenes_canonical: dict[int, str] = {}
    takes_canonical: dict[int, str] = {}
    compiled: dict[str, CompiledNode] = {}
    mistakes: list[Mistake] = []
    bodies = with_work_light(venue, compile_bodies(venue, None, telemetry_interval_s))
    for node_id, bare in bodies.items():
        body = _with_choice(bare, node_id, choices)
        head, tail = _canonical_parts(body, scenes_canonical)
        compiled[node_id] = one = _hashed(body, head, tail, takes_canonical)
        size = len(one.canonical.encode())
        if size > MAX_DESIRED_BYTES - ENVELOPE_BYTES:
            reason = f"its document would have {size:,} bytes; a node takes {MAX_DESIRED_BYTES:,}"
            mistakes.append(Mistake(f"nodes.{node_id}", reason, _REMEDY))
    if mistakes:
        raise InvalidError(f"the document of node {mistakes[0].field.removeprefix('nodes.')!r} is too large", mistakes)
    return compiled


def oversized_bodies(venue: Venue) -> dict[str, tuple[DesiredBody, int]]:
    """Nodes whose document would be too large for them: the body, and the bytes that its document would have.

    Raises what `compile_bodies` does.
    """
    scenes_canonical: dict[int, str] = {}
    found: dict[str, tuple[DesiredBody, int]] = {}
    for node_id, body in with_work_light(venue, compile_bodies(venue, None, TELEMETRY_INTERVAL_S)).items():
        size = sum(len(part.encode()) for part in _canonical_parts(body, scenes_canonical)) + ENVELOPE_BYTES
        size += TIMETABLE_BYTES if venue.timetable else 0
        if size > MAX_DESIRED_BYTES:
            found[node_id] = (body, size)
    return found


def show_another(documents: Mapping[str, CompiledNode], venue: Venue, choices: Choices) -> dict[str, CompiledNode]:
    """The documents as `compile_documents` would make them of the same venue for other choices, far faster.

    Raises NotFoundError for an unknown scene.
    """
    _require_scenes(venue, choices)
    takes_canonical: dict[int, str] = {}
    return {
        node: _hashed(_with_choice(one.body, node, choices), one.head, one.tail, takes_canonical)
        for node, one in documents.items()
    }


def desired_payload(venue: str, node: str, revision: int, compiled: CompiledNode, take: TakeTime | None) -> bytes:
    """The `Desired` document as it is published; `take` is None while the revision is only to be staged."""
    head = {"schema_version": 1, "venue": venue, "node": node, "revision": revision, "sha256": compiled.sha256}
    tail = "null" if take is None else take.model_dump_json()
    return f'{json.dumps(head)[:-1]}, "body": {compiled.canonical}, "take": {tail}}}'.encode()


def _require_scenes(venue: Venue, choices: Choices) -> None:
    known = {WORK_LIGHT, *(scene.id for scene in venue.scenes)}
    for scene in choices.scenes():
        if scene not in known:
            raise NotFoundError("scene", scene)


def _with_choice(body: DesiredBody, node: str, choices: Choices) -> DesiredBody:
    chosen = choices.of(node)
    return body.model_copy(
        update={"showing": chosen.scene, "showing_since_ms": chosen.since_ms, "timetable": choices.timetable}
    )


def _hashed(body: DesiredBody, head: str, tail: str, takes_canonical: dict[int, str]) -> CompiledNode:
    encoded = f"{head}{_choice_canonical(body, takes_canonical)}{tail}".encode()
    return CompiledNode(body, head, tail, hashlib.sha256(encoded).hexdigest())


def _canonical_parts(body: DesiredBody, scenes_canonical: dict[int, str]) -> tuple[str, str]:
    """The canonical JSON of `schemas.body_sha256` around the choice; scenes, which nodes share, written out once."""
    key = id(body.scenes)
    if key not in scenes_canonical:
        scenes_canonical[key] = _list(body.scenes)
    head = (
        f'{{"budgets":{_list(body.budgets)},"channels":{_list(body.channels)}'
        f',"frame_rate_limit_hz":{_canonical(body.frame_rate_limit_hz)}'
        f',"master_level":{_canonical(body.master_level)},"scenes":{scenes_canonical[key]},'
    )
    return head, f',"zones":{_list(body.zones)}}}'


def _choice_canonical(body: DesiredBody, takes_canonical: dict[int, str]) -> str:
    """The part of the canonical JSON that the choice makes; timed takes, which nodes share, written out once."""
    key = id(body.timetable)
    if key not in takes_canonical:
        takes_canonical[key] = _list(body.timetable)
    return (
        f'"showing":{_canonical(body.showing)},"showing_since_ms":{body.showing_since_ms}'
        f',"telemetry_interval_s":{_canonical(body.telemetry_interval_s)},"timetable":{takes_canonical[key]}'
    )


def _list(parts: tuple[BaseModel, ...]) -> str:
    return _canonical([part.model_dump(mode="json") for part in parts])


def _canonical(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
