"""What a control answers: what it did, in a sentence, and the caution that goes with it."""

from typing import Final

from pydantic import BaseModel, Field

from hub.rollout import RolloutView

DARK_CAUTION: Final = (
    "Look before you black out: people may stand on stairs, ladders or a stage edge. These pixels are decoration; they "
    "replace neither house lights nor emergency lighting, and local rules on both come first."
)
WORK_LIGHT_CAUTION: Final = (
    "A work light comes up in all eyes at once: warn people on ladders and stages. It is no emergency lighting, and "
    "no proof that wiring is dead; switch supplies off before you work on them, as local rules say."
)


class ControlAnswer(BaseModel):
    """What a control did."""

    said: str = Field(description="In a sentence, for the person who pressed it.")
    caution: str | None = Field(description="What to mind where people are.")
    rollout: RolloutView = Field(description="What is on its way to the boards; follow it by its revision.")
