"""What a revision is compiled from: the venue as it was, the settings that reach the documents, and what is chosen."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated

from pydantic import Field

from hub.desired import Choices, CompiledNode, compile_documents, show_another
from hub.rollout.kept_choices import KeptChoices
from schemas import Held, TakeTime, Venue
from schemas.contract import Contract


class Snapshot(Contract):
    """Kept as JSON under its hash, so that a restarted hub compiles the same bytes, whatever changed since."""

    venue: Venue
    telemetry_interval_s: Annotated[float, Field(ge=0.2, le=3_600)]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A snapshot and choices, compiled: all that a rollout needs but its number."""

    venue: Venue
    snapshot_sha256: str
    kept: KeptChoices
    choices: Choices
    documents: Mapping[str, CompiledNode]

    @property
    def scene(self) -> str | None:
        """What was chosen for all nodes but those apart; timed takes may have come since."""
        return self.kept.common.scene

    def wanted(self, revision: int) -> dict[str, Held]:
        return {node: compiled.held(revision) for node, compiled in self.documents.items()}


@dataclass(frozen=True, slots=True)
class InForce:
    """A revision that was taken: what its nodes are to show from their take on."""

    revision: int
    prepared: Prepared
    take: TakeTime
    flash_confirmed_by: str | None = None
    """Who confirmed that its scene may flash more than the published thresholds allow."""
    takes_apart: Mapping[str, TakeTime] = field(default_factory=dict)
    """Of nodes that took it in an earlier batch, or were given it without a change."""

    def take_of(self, node: str) -> TakeTime:
        return self.takes_apart.get(node, self.take)

    def held_by(self, node: str) -> Held | None:
        """What the node is to report; None for one that it does not concern."""
        compiled = self.prepared.documents.get(node)
        return None if compiled is None else compiled.held(self.revision)


def snapshot_document(snapshot: Snapshot) -> tuple[str, str]:
    """(JSON document, its SHA-256)."""
    document = snapshot.model_dump_json()
    return document, hashlib.sha256(document.encode()).hexdigest()


def prepare_another(known: Prepared, kept: KeptChoices) -> Prepared:
    """The same snapshot for other choices, without compiling it again. Raises NotFoundError."""
    choices = kept.choices()
    documents = show_another(known.documents, known.venue, choices)
    return replace(known, kept=kept, choices=choices, documents=documents)


def prepare(snapshot: Snapshot, sha256: str, kept: KeptChoices) -> Prepared:
    """Compile. Raises NotFoundError for an unknown scene, InvalidError for a document that no node would take."""
    choices = kept.choices()
    documents = compile_documents(snapshot.venue, choices, snapshot.telemetry_interval_s)
    return Prepared(snapshot.venue, sha256, kept, choices, documents)
