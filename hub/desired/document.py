"""Compiled bodies as the bytes that travel: canonical JSON, its hash, and the envelope around it."""

import hashlib
import json
from dataclasses import dataclass

from pydantic import BaseModel

from hub.desired.compile import compile_bodies
from hub.errors import InvalidError, Mistake
from schemas import DesiredBody, Held, TakeTime, Venue
from schemas.bounds import MAX_DESIRED_BYTES

ENVELOPE_BYTES = 1024
_REMEDY = "shorten the scenes (fewer layers, spot spans or path points) or split the node's runs over two nodes"


@dataclass(frozen=True, slots=True)
class CompiledNode:
    """A node's body with its canonical JSON and the hash that covers it."""

    body: DesiredBody
    canonical: str
    sha256: str

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
        canonical = _canonical_body(body, scenes_canonical)
        encoded = canonical.encode()
        if len(encoded) > MAX_DESIRED_BYTES - ENVELOPE_BYTES:
            reason = f"its document would have {len(encoded):,} bytes; a node takes {MAX_DESIRED_BYTES:,}"
            mistakes.append(Mistake(f"nodes.{node_id}", reason, _REMEDY))
        compiled[node_id] = CompiledNode(body, canonical, hashlib.sha256(encoded).hexdigest())
    if mistakes:
        raise InvalidError(f"the document of node {mistakes[0].field.removeprefix('nodes.')!r} is too large", mistakes)
    return compiled


def desired_payload(venue: str, node: str, revision: int, compiled: CompiledNode, take: TakeTime | None) -> bytes:
    """The `Desired` document as it is published; `take` is None while the revision is only to be staged."""
    head = {"schema_version": 1, "venue": venue, "node": node, "revision": revision, "sha256": compiled.sha256}
    tail = "null" if take is None else take.model_dump_json()
    return f'{json.dumps(head)[:-1]}, "body": {compiled.canonical}, "take": {tail}}}'.encode()


def _canonical_body(body: DesiredBody, scenes_canonical: dict[int, str]) -> str:
    """The canonical JSON of `schemas.body_sha256`, with the scenes, which many nodes share, written out once."""
    key = id(body.scenes)
    if key not in scenes_canonical:
        scenes_canonical[key] = _list(body.scenes)
    return (
        f'{{"budgets":{_list(body.budgets)},"channels":{_list(body.channels)}'
        f',"frame_rate_limit_hz":{_canonical(body.frame_rate_limit_hz)},"scenes":{scenes_canonical[key]}'
        f',"showing":{_canonical(body.showing)},"telemetry_interval_s":{_canonical(body.telemetry_interval_s)}'
        f',"zones":{_list(body.zones)}}}'
    )


def _list(parts: tuple[BaseModel, ...]) -> str:
    return _canonical([part.model_dump(mode="json") for part in parts])


def _canonical(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
