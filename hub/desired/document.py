"""Compiled bodies as the bytes that travel: canonical JSON, its hash, and the envelope around it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import BaseModel

from hub.desired.compile import compile_bodies
from hub.errors import InvalidError, Mistake, NotFoundError
from schemas import DesiredBody, Held, TakeTime, Venue
from schemas.bounds import MAX_DESIRED_BYTES, TELEMETRY_INTERVAL_S

ENVELOPE_BYTES = 1024
_REMEDY = "shorten the scenes (fewer layers, spot spans or path points) or split the node's runs over two nodes"


@dataclass(frozen=True, slots=True)
class CompiledNode:
    """A node's body with its canonical JSON and the hash that covers it.

    The JSON is kept in two parts, before and after the scene that shows, which alone differs between takes of a venue.
    """

    body: DesiredBody
    head: str
    tail: str
    sha256: str

    @property
    def canonical(self) -> str:
        return f"{self.head}{_canonical(self.body.showing)}{self.tail}"

    def held(self, revision: int) -> Held:
        """What a node that holds this under `revision` reports."""
        return Held.model_construct(revision=revision, sha256=self.sha256)


def compile_documents(venue: Venue, scene_id: str | None, telemetry_interval_s: float) -> dict[str, CompiledNode]:
    """Bodies of every node, hashed and held against MAX_DESIRED_BYTES.

    Raises what `compile_bodies` does, and InvalidError naming each node whose document is too large.
    """
    scenes_canonical: dict[int, str] = {}
    compiled: dict[str, CompiledNode] = {}
    mistakes: list[Mistake] = []
    for node_id, body in compile_bodies(venue, scene_id, telemetry_interval_s).items():
        compiled[node_id] = one = _hashed(body, *_canonical_parts(body, scenes_canonical))
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
    for node_id, body in compile_bodies(venue, None, TELEMETRY_INTERVAL_S).items():
        size = sum(len(part.encode()) for part in _canonical_parts(body, scenes_canonical)) + ENVELOPE_BYTES
        if size > MAX_DESIRED_BYTES:
            found[node_id] = (body, size)
    return found


def show_another(documents: Mapping[str, CompiledNode], venue: Venue, scene_id: str | None) -> dict[str, CompiledNode]:
    """The documents as `compile_documents` would make them of the same venue for another scene, far faster.

    Raises NotFoundError for an unknown scene.
    """
    if scene_id is not None and all(scene.id != scene_id for scene in venue.scenes):
        raise NotFoundError("scene", scene_id)
    return {
        node: _hashed(one.body.model_copy(update={"showing": scene_id}), one.head, one.tail)
        for node, one in documents.items()
    }


def desired_payload(venue: str, node: str, revision: int, compiled: CompiledNode, take: TakeTime | None) -> bytes:
    """The `Desired` document as it is published; `take` is None while the revision is only to be staged."""
    head = {"schema_version": 1, "venue": venue, "node": node, "revision": revision, "sha256": compiled.sha256}
    tail = "null" if take is None else take.model_dump_json()
    return f'{json.dumps(head)[:-1]}, "body": {compiled.canonical}, "take": {tail}}}'.encode()


def _hashed(body: DesiredBody, head: str, tail: str) -> CompiledNode:
    encoded = f"{head}{_canonical(body.showing)}{tail}".encode()
    return CompiledNode(body, head, tail, hashlib.sha256(encoded).hexdigest())


def _canonical_parts(body: DesiredBody, scenes_canonical: dict[int, str]) -> tuple[str, str]:
    """The canonical JSON of `schemas.body_sha256` around `showing`; scenes, which nodes share, written out once."""
    key = id(body.scenes)
    if key not in scenes_canonical:
        scenes_canonical[key] = _list(body.scenes)
    head = (
        f'{{"budgets":{_list(body.budgets)},"channels":{_list(body.channels)}'
        f',"frame_rate_limit_hz":{_canonical(body.frame_rate_limit_hz)}'
        f',"master_level":{_canonical(body.master_level)},"scenes":{scenes_canonical[key]},"showing":'
    )
    tail = f',"telemetry_interval_s":{_canonical(body.telemetry_interval_s)},"zones":{_list(body.zones)}}}'
    return head, tail


def _list(parts: tuple[BaseModel, ...]) -> str:
    return _canonical([part.model_dump(mode="json") for part in parts])


def _canonical(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
