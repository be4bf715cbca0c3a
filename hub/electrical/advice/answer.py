"""What every piece of advice looks like: a sentence, its figures, the formula, what went in, where it comes from."""

from typing import Final

from pydantic import BaseModel, ConfigDict, Field

Value = float | int | str | list[float] | list[int]


class Advice(BaseModel):
    """An answer that was computed, with all that is needed to compute it again by hand."""

    question: str
    answer: str = Field(description="One sentence.")
    found: bool = Field(description="False where nothing within the limits serves; the answer says why.")
    values: dict[str, Value] = Field(description="The figures; units are in their names.")
    formula: str
    inputs: dict[str, Value] = Field(description="What was asked and assumed; units are in the names.")
    source: str = Field(description="Where formula and tables come from, and what is from memory or common practice.")
    confirmation: str = Field(description="The answer applied and worked out again, and one step less.")
    cautions: list[str]


class Question(BaseModel):
    """Base of the questions: no unknown fields, finite numbers only."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    def inputs(self) -> dict[str, Value]:
        """What was asked, without what was left open."""
        return self.model_dump(exclude_none=True, mode="json")


CAUTIONS: Final = (
    "Switch the supply off, and see that it is off, before you wire; check polarity with a meter before pixels are on.",
    "Fit a fuse in each positive wire, close to the supply, no larger than the wire allows.",
    "Local code goes before this advice; the mains side of every supply belongs to a licensed electrician.",
)
