"""What a person sees at a run, in the trade's words."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final


class Symptom(StrEnum):
    """What is seen. All but the last two are about one run."""

    NOTHING_LIGHTS = "nothing-lights"
    FIRST_PIXEL_ONLY = "first-pixel-only"
    WRONG_COLOURS = "wrong-colours"
    FAR_END_FADES = "far-end-fades"
    TOO_DIM = "too-dim"
    FLICKERS = "flickers"
    RANDOM_FLASHES = "random-flashes"
    CUT_OFF = "cut-off"
    ONE_PIXEL = "one-pixel"
    STUTTERS = "stutters"
    SUPPLY_DARK = "supply-dark"
    BOARD_SILENT = "board-silent"

    @property
    def of_a_run(self) -> bool:
        """Whether it takes a channel to look into it."""
        return self not in (Symptom.SUPPLY_DARK, Symptom.BOARD_SILENT)


WORDS: Final[Mapping[Symptom, str]] = MappingProxyType(
    {
        Symptom.NOTHING_LIGHTS: "Nothing lights on a run",
        Symptom.FIRST_PIXEL_ONLY: "The first pixel is right, the rest is wrong",
        Symptom.WRONG_COLOURS: "The colours of a run are wrong",
        Symptom.FAR_END_FADES: "The end of a run turns red or dim",
        Symptom.TOO_DIM: "A whole run is too dim",
        Symptom.FLICKERS: "A whole run flickers",
        Symptom.RANDOM_FLASHES: "Single pixels flash at random",
        Symptom.CUT_OFF: "From some pixel on a run is dark or stands still",
        Symptom.ONE_PIXEL: "One pixel is dark or stuck",
        Symptom.STUTTERS: "Movement stutters, or lags behind its neighbours",
        Symptom.SUPPLY_DARK: "All that hangs on one supply is dark",
        Symptom.BOARD_SILENT: "The hub does not hear the board",
    }
)
