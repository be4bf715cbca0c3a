"""The usual cautions, said where work on a supply, a board or its wiring follows. They defer to local codes."""

from typing import Final

MAINS: Final = (
    "Mains side: only a licensed electrician, under the local code; isolated, locked off and proven dead before a "
    "cover comes off."
)
POWER_OFF: Final = (
    "Switch the DC supply off and wait for its capacitors before touching wires; mind polarity: reversed leads destroy "
    "pixels."
)
FUSE: Final = "Replace a fuse only by one of the same rating and kind, once you know why it blew; never bridge it."
HEAT: Final = "Boards, supplies and pixels may be hot enough to burn: let them cool, and look for scorched insulation."
HEIGHT: Final = "Work above the ground by the local rules: a secured ladder or platform, a second person, nobody below."
COMMON_GROUND: Final = "Join the grounds of board and supply before data and positive, and part them last."
