"""Where things stand on the drawing, mm. It is as wide as an A4 page between its margins."""

from typing import Final

WIDTH: Final = 186.0
BOARD_LEFT, BOARD_RIGHT = 6.0, 38.0
TRUNK_X: Final = 12.0
"""The common ground runs down here."""
SHIFTER_LEFT, SHIFTER_RIGHT = 43.0, 51.0
RESISTOR_LEFT, RESISTOR_RIGHT = 54.0, 63.0
RUN_LEFT, RUN_RIGHT = 73.0, 185.0
RAIL: Final = 2.8
"""A run's positive and negative rail lie this far above and below its pixels."""
CLOCK: Final = 3.6
"""The clock line lies this far below the data line."""
MOST_ROOMY_FEEDS: Final = 4
"""Up to so many feeds a run is drawn with both conductors of each; above, with one line for the pair."""
