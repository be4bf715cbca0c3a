"""What shows on a venue's nodes now, and what follows by itself: timed takes and batches included."""

from collections.abc import Sequence

from pydantic import BaseModel, Field

from hub.scenes.followed import Followed, Rollouts, followed_at, show_ms_of
from schemas import next_timed_take
from schemas.contract import Id


class SceneShowing(BaseModel):
    """A scene and the nodes that are to show it."""

    scene: Id | None = Field(description="Null is darkness.")
    revision: int
    since_ms: int = Field(description="Show time of the take that brought it.")
    by_timetable: bool = Field(description="Brought by a timed take of the revision; false: by a take of a person.")
    nodes: list[Id] = Field(description="Each node stands under one scene.")


class TakeToCome(BaseModel):
    """A timed take that lies ahead."""

    at_ms: int
    scene: Id | None = Field(description="Null is darkness.")
    fade_ms: int


class Showing(BaseModel):
    """What the nodes of a venue are to show; what they say that they do is in `node-states`."""

    now_ms: int
    scenes: list[SceneShowing] = Field(description="The one with the most nodes first; none while nothing was taken.")
    next: TakeToCome | None = Field(
        description="What those of the first come to by themselves; null where nothing is timed."
    )


def showing(rollouts: Rollouts, venue: str, show_s: float) -> Showing:
    """At a show time. Nodes that show one scene since one take are told together."""
    in_force, before, ahead = rollouts.in_force(venue), rollouts.shown_before(venue), rollouts.ahead(venue)
    followed = followed_at(show_s, in_force, before, ahead)
    coming = next_timed_take(followed[0].body, show_ms_of(show_s)) if followed else None
    return Showing(
        now_ms=round(show_s * 1_000),
        scenes=_scenes(followed, show_s),
        next=coming and TakeToCome(at_ms=coming.at_ms, scene=coming.scene, fade_ms=coming.fade_ms),
    )


def _scenes(followed: Sequence[Followed], show_s: float) -> list[SceneShowing]:
    """Timed takes bring nodes together that were apart before."""
    found: dict[tuple[str | None, int, int, bool], SceneShowing] = {}
    for one in followed:
        shown = one.shown(show_s)
        chosen = one.in_force.prepared.choices.of(one.nodes[0])
        since_ms = (chosen.opened_ms or chosen.since_ms or one.take.at_ms) if shown.by is None else shown.by.at_ms
        key = shown.scene, one.in_force.revision, since_ms, shown.by is not None
        scene = SceneShowing(scene=key[0], revision=key[1], since_ms=key[2], by_timetable=key[3], nodes=[])
        found.setdefault(key, scene).nodes.extend(one.nodes)
    return sorted(found.values(), key=lambda scene: -len(scene.nodes))
