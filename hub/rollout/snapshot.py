"""What a revision is compiled from: the venue as it was, and the settings that reach the documents."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

from pydantic import Field

from hub.desired import Choices, Chosen, CompiledNode, compile_documents, show_another
from schemas import Held, TakeTime, Venue
from schemas.contract import Contract


class Snapshot(Contract):
    """Kept as JSON under its hash, so that a restarted hub compiles the same bytes, whatever changed since."""

    venue: Venue
    telemetry_interval_s: Annotated[float, Field(ge=0.2, le=3_600)]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A snapshot and a scene, compiled: all that a rollout needs but its number."""

    venue: Venue
    snapshot_sha256: str
    scene: str | None
    documents: Mapping[str, CompiledNode]

    def wanted(self, revision: int) -> dict[str, Held]:
        return {node: compiled.held(revision) for node, compiled in self.documents.items()}


@dataclass(frozen=True, slots=True)
class InForce:
    """A revision that was taken: what every node of the venue is to show from `take.at_ms` on."""

    revision: int
    prepared: Prepared
    take: TakeTime
    flash_confirmed_by: str | None = None
    """Who confirmed that its scene may flash more than the published thresholds allow."""


def snapshot_document(snapshot: Snapshot) -> tuple[str, str]:
    """(JSON document, its SHA-256)."""
    document = snapshot.model_dump_json()
    return document, hashlib.sha256(document.encode()).hexdigest()


def prepare_another(known: Prepared, scene: str | None) -> Prepared:
    """The same snapshot for another scene, without compiling it again. Raises NotFoundError."""
    return replace(known, scene=scene, documents=show_another(known.documents, known.venue, Choices(Chosen(scene))))


def prepare(snapshot: Snapshot, sha256: str, scene: str | None) -> Prepared:
    """Compile. Raises NotFoundError for an unknown scene, InvalidError for a document that no node would take."""
    documents = compile_documents(snapshot.venue, Choices(Chosen(scene)), snapshot.telemetry_interval_s)
    return Prepared(snapshot.venue, sha256, scene, documents)
