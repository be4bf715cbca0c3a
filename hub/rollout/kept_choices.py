"""What a revision shows, as its row keeps it: enough to compile the very same bytes after a restart. Pure."""

from collections.abc import Iterable

from pydantic import Field

from hub.desired import Choices, Chosen
from schemas import TimedTake
from schemas.bounds import MAX_TIMED_TAKES
from schemas.contract import Contract, Id, ShowTimeMs


class KeptChosen(Contract):
    """A scene (null is darkness) and the show time at which it was chosen.

    `opened_ms` where nobody chose it: then a new venue opened in its opening scene, which holds until its timetable
    has something on.
    """

    scene: Id | None = None
    since_ms: ShowTimeMs = 0
    opened_ms: ShowTimeMs | None = None

    def under(self, timetable: tuple[TimedTake, ...]) -> "KeptChosen":
        """The same under another timetable, whose first take brought what it has on."""
        if self.opened_ms is None:
            return self
        held = bool(timetable) and timetable[0].scene is None and timetable[0].at_ms <= self.opened_ms
        return self.model_copy(update={"since_ms": timetable[0].at_ms if held else 0})


class KeptChoices(Contract):
    """Choices with what they were made of: the venue's timed takes as compiled at one moment, a cue list's apart."""

    common: KeptChosen = KeptChosen()
    apart: dict[Id, KeptChosen] = Field(default_factory=dict)
    timetable: tuple[TimedTake, ...] = ()
    compiled_at_ms: ShowTimeMs = 0
    follow_ons: tuple[TimedTake, ...] = ()

    def choices(self) -> Choices:
        """As documents are compiled from them."""
        apart = {node: Chosen(one.scene, one.since_ms) for node, one in self.apart.items()}
        common = Chosen(self.common.scene, self.common.since_ms, self.common.opened_ms)
        return Choices(common, apart, _merged(self.timetable, self.follow_ons))

    def taken(self, scene: str | None, since_ms: int, follow_ons: tuple[TimedTake, ...] = ()) -> "KeptChoices":
        """The same timetable after a take everywhere."""
        common = KeptChosen(scene=scene, since_ms=since_ms)
        return self.model_copy(update={"common": common, "apart": {}, "follow_ons": follow_ons})

    def taken_on(self, nodes: Iterable[str], scene: str | None, since_ms: int) -> "KeptChoices":
        """The same after a take for some nodes: the others keep theirs."""
        chosen = KeptChosen(scene=scene, since_ms=since_ms)
        return self.model_copy(update={"apart": self.apart | dict.fromkeys(nodes, chosen)})

    def following_timetable(self) -> "KeptChoices":
        """Nothing that a person took counts any more."""
        return self.taken(self.common.scene, 0)

    def refreshed(self, timetable: tuple[TimedTake, ...], now_ms: int) -> "KeptChoices":
        """Another timetable from `now_ms` on under the same choices, without what no longer counts."""
        begun_ms = timetable[0].at_ms if timetable and timetable[0].at_ms <= now_ms else 0
        return self.model_copy(
            update={
                "common": self.common.under(timetable),
                "apart": {node: one for node, one in self.apart.items() if one.since_ms >= begun_ms},
                "timetable": timetable,
                "compiled_at_ms": now_ms,
                "follow_ons": tuple(take for take in self.follow_ons if take.at_ms > begun_ms),
            }
        )

    def only(self, scenes: frozenset[str], nodes: frozenset[str], opening: str | None) -> "KeptChoices":
        """What is left of the choices in a venue of these scenes and nodes: a scene that is gone is its opening one."""

        def known(scene: str | None) -> bool:
            return scene is None or scene in scenes

        apart = {node: one for node, one in self.apart.items() if node in nodes and known(one.scene)}
        common = self.common if known(self.common.scene) else self.common.model_copy(update={"scene": opening})
        follow_ons = tuple(take for take in self.follow_ons if known(take.scene))
        return self.model_copy(update={"common": common, "apart": apart, "follow_ons": follow_ons})


def _merged(timetable: tuple[TimedTake, ...], follow_ons: tuple[TimedTake, ...]) -> tuple[TimedTake, ...]:
    """Both in order of time; at one moment the follow-on counts, which a person set going."""
    by_time = {take.at_ms: take for take in (*timetable, *follow_ons)}
    return tuple(by_time[at_ms] for at_ms in sorted(by_time))[:MAX_TIMED_TAKES]
