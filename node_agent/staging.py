"""Staging: is this desired document for us, whole, newer than what shows, and can this board show it?"""

import re
from dataclasses import dataclass
from typing import Final

from pydantic import BaseModel, ConfigDict, ValidationError

from node_agent.board import Board
from node_agent.outputs import OutputError
from node_agent.prepared import PreparedRevision, scenes_that_may_show
from node_agent.render import PlacementError, weight_of
from schemas import Desired, DesiredBody, DesiredChannel, Refusal, body_sha256
from schemas.bounds import MAX_DESIRED_BYTES, MAX_TEXT
from schemas.contract import Id, Revision

_UNPRINTABLE: Final = re.compile(r"[\x00-\x1f\x7f-\x9f]")
_MAX_FIELD: Final = 200


@dataclass(frozen=True, slots=True)
class Holding:
    """What the node is and holds already."""

    venue: str
    node: str
    showing: Desired | None = None
    staged: Desired | None = None


@dataclass(frozen=True, slots=True)
class Staged:
    """A document that this board can show, made ready."""

    prepared: PreparedRevision


@dataclass(frozen=True, slots=True)
class AlreadyStaged:
    """The document that is staged, once more; it may now carry its take."""

    desired: Desired


@dataclass(frozen=True, slots=True)
class AlreadyShowing:
    """The document that shows, once more: whatever is staged is to be dropped."""

    desired: Desired


@dataclass(frozen=True, slots=True)
class Refused:
    """`malformed` where the document breaks the contract, rather than asks for what this board cannot do."""

    refusal: Refusal
    malformed: bool


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Not a desired document of this node; there is nothing to answer."""

    kind: str


Verdict = Staged | AlreadyStaged | AlreadyShowing | Refused | Unreadable


class _Header(BaseModel):
    """As much of a document as it takes to refuse it by its revision."""

    model_config = ConfigDict(extra="ignore", strict=True)

    venue: Id
    node: Id
    revision: Revision


def stage(payload: bytes, holding: Holding, board: Board, show_s: float) -> Verdict:
    """Judges a payload from the node's `desired` topic. Never raises for anything that the payload may hold."""
    if len(payload) > MAX_DESIRED_BYTES:
        return Unreadable("desired: too large")
    try:
        header = _Header.model_validate_json(payload)
    except ValidationError:
        return Unreadable("desired: not a desired document")
    if (header.venue, header.node) != (holding.venue, holding.node):
        return Unreadable("desired: for another node")
    try:
        desired = Desired.model_validate_json(payload)
    except ValidationError as error:
        return Refused(_contract_refusal(header.revision, error), malformed=True)
    if refusal := _identity_refusal(desired, holding):
        return Refused(refusal, malformed=True)
    if holding.showing and desired.revision == holding.showing.revision:
        return AlreadyShowing(desired)
    if holding.staged and desired.revision == holding.staged.revision:
        return AlreadyStaged(desired)
    return prepare(desired, board, show_s)


def prepare(desired: Desired, board: Board, show_s: float) -> Staged | Refused:
    """Makes a document ready that is in order by itself, or says why this board cannot show it."""
    try:
        refusal = _body_refusal(desired, board)
        if refusal is None:
            prepared = PreparedRevision(desired)
            refusal = _board_refusal(prepared, board)
        if refusal is None:
            prepared.try_frames(show_s)
            return Staged(prepared)
    except PlacementError as error:
        refusal = _refusal(desired.revision, f"body.{error.field}", error.reason, error.remedy)
    except OutputError as error:
        refusal = _refusal(desired.revision, f"body.channels: {error.field}", error.reason, error.remedy)
    except Exception as error:  # whatever goes wrong now would otherwise go wrong on the frame loop
        reason = f"a trial frame failed: {type(error).__name__}: {error}"
        refusal = _refusal(desired.revision, "body", reason, "report this to the makers with the venue file")
    return Refused(refusal, malformed=False)


def _identity_refusal(desired: Desired, holding: Holding) -> Refusal | None:
    """Hash and order: the revision must be the hash's own, and not older than what shows."""
    revision = desired.revision
    if body_sha256(desired.body) != desired.sha256:
        return _refusal(revision, "sha256", "the hash does not belong to the body", "publish the document again")
    for held, state in ((holding.showing, "shows"), (holding.staged, "is staged")):
        if held and held.revision == revision and held.sha256 != desired.sha256:
            return _refusal(
                revision,
                "sha256",
                f"revision {revision} {state} here with another hash",
                "publish the change under a higher revision",
            )
    if holding.showing and revision < holding.showing.revision:
        return _refusal(
            revision,
            "revision",
            f"revision {holding.showing.revision}, which is newer, shows here",
            "publish under a higher revision; for a hub that starts afresh, empty this node's state directory",
        )
    return None


def _board_refusal(prepared: PreparedRevision, board: Board) -> Refusal | None:
    """Outputs and pins."""
    revision, channels = prepared.revision, prepared.desired.body.channels
    lines: dict[str, DesiredChannel] = {}
    for place, channel in enumerate(channels):
        field = f"body.channels.{place}"
        if channel.number > board.outputs:
            return _refusal(
                revision,
                f"{field}.number",
                f"channel {channel.number} on a board of {board.outputs} outputs",
                "move the run to a channel that the board has, or correct the board's outputs",
            )
        line = board.data_line(channel.pin)
        if line in lines:
            other = lines[line]
            same = channel.pin == other.pin
            return _refusal(
                revision,
                f"{field}.pin",
                f"{channel.pin} {'' if same else f'has one data line with {other.pin}, which '}"
                f"drives channel {other.number} already",
                "give each channel its own pin" if same else "give each channel a port with a data line of its own",
            )
        lines[line] = channel
        try:
            board.check(channel.pin, prepared.encoders[channel.number])
        except OutputError as error:
            return _refusal(revision, f"{field}.pin", error.reason, error.remedy)
        for number, feed in enumerate(channel.feeds):
            if feed.at_pixel >= channel.pixels:
                return _refusal(
                    revision,
                    f"{field}.feeds.{number}.at_pixel",
                    f"pixel {feed.at_pixel} is past the end of a run of {channel.pixels}",
                    f"feed the run at a pixel from 0 to {channel.pixels - 1}",
                )
    return None


def _body_refusal(desired: Desired, board: Board) -> Refusal | None:
    """References inside the body, and the capacity to render."""
    body, revision = desired.body, desired.revision
    for name, ids in (("zones", [zone.id for zone in body.zones]), ("scenes", [scene.id for scene in body.scenes])):
        if doubled := next((identifier for identifier in ids if ids.count(identifier) > 1), None):
            return _refusal(revision, f"body.{name}", f"{doubled} appears twice", "give each an id of its own")
    covered = {zone.id: sum(span.pixels for span in zone.spans) for zone in body.zones}
    if sum(covered.values()) > board.pixel_layers_limit:
        reason = (
            f"the zones place {sum(covered.values())} pixels, more than the {board.pixel_layers_limit} of this board"
        )
        return _refusal(revision, "body.zones", reason, "use fewer overlapping zones")
    may_show = scenes_that_may_show(body)
    for scene in body.scenes:
        for number, layer in enumerate(scene.layers):
            if layer.zone not in covered:
                field = f"body.scenes.{scene.id}.layers.{number}.zone"
                return _refusal(revision, field, f"there is no zone {layer.zone}", "add the zone or drop the layer")
        # A scene that is only held costs no time: too heavy a one must not keep the board from showing the others.
        shows = scene.id in may_show
        load = round(sum(covered[layer.zone] * weight_of(layer) for layer in scene.layers)) if shows else 0
        if load > board.pixel_layers_limit:
            return _refusal(
                revision,
                f"body.scenes.{scene.id}.layers",
                f"{load} pixels x layers, and this board renders {board.pixel_layers_limit} in a frame",
                "use fewer layers, move runs to another board, or raise --pixel-layers-at-most on a faster one",
            )
    return _scenes_refusal(body, revision)


def _scenes_refusal(body: DesiredBody, revision: int) -> Refusal | None:
    """Scenes that are to show, now or at a time, and are not in the body."""
    known = {None, *(scene.id for scene in body.scenes)}
    if body.showing not in known:
        return _refusal(revision, "body.showing", f"there is no scene {body.showing}", "show a scene of the document")
    for number, take in enumerate(body.timetable):
        if take.scene not in known:
            field, reason = f"body.timetable.{number}.scene", f"there is no scene {take.scene}"
            return _refusal(revision, field, reason, "take a scene of the document")
    return None


def _contract_refusal(revision: int, error: ValidationError) -> Refusal:
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    return _refusal(
        revision,
        ".".join(str(part) for part in first["loc"]),
        first["msg"],
        "correct the field; where hub and agent differ in version, bring them to the same",
    )


def _refusal(revision: int, field: str, reason: str, remedy: str) -> Refusal:
    """The texts may quote what a stranger wrote: control characters and length are cut to the contract."""
    field, reason, remedy = (_UNPRINTABLE.sub("?", text) for text in (field, reason, remedy))
    return Refusal(revision=revision, field=field[:_MAX_FIELD], reason=reason[:MAX_TEXT], remedy=remedy[:MAX_TEXT])
