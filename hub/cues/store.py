"""Lists in hand in the database. Every call is one short transaction."""

from sqlalchemy import Engine
from sqlmodel import Session

from hub.cues.models import CueListInHand
from hub.cues.standing import InHand
from schemas import CueList


class CueStore:
    """One list in hand a venue, or none."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def in_hand(self, venue: str) -> InHand | None:
        with Session(self._engine) as session:
            row = session.get(CueListInHand, venue)
        if row is None:
            return None
        return InHand(
            cue_list=CueList.model_validate_json(row.document),
            taken=row.taken,
            follows_to=row.follows_to,
            taken_at_ms=row.taken_at_ms,
            revision=row.revision,
            left_at_ms=row.left_at_ms,
        )

    def save(self, venue: str, hand: InHand) -> None:
        row = CueListInHand(
            venue=venue,
            document=hand.cue_list.model_dump_json(),
            taken=hand.taken,
            follows_to=hand.follows_to,
            taken_at_ms=hand.taken_at_ms,
            revision=hand.revision,
            left_at_ms=hand.left_at_ms,
        )
        with Session(self._engine) as session:
            session.merge(row)
            session.commit()

    def put_down(self, venue: str) -> None:
        with Session(self._engine) as session:
            row = session.get(CueListInHand, venue)
            if row is not None:
                session.delete(row)
                session.commit()
