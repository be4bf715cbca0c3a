"""The usual cautions, said where work on a supply, a board or its wiring follows. They defer to local codes.

Common practice, no source.
"""

from typing import Final

HEIGHT: Final = (
    "Work at height is never done alone, nor with both hands full: someone foots the ladder, tools are on a line."
)
MAINS: Final = (
    "The mains side of every supply belongs to a licensed electrician under the local code: leave its covers on."
)
POWER_OFF: Final = (
    "Power off and unplugged before anything is joined, parted or changed; wait until the supplies have discharged."
)
POLARITY: Final = "Check polarity with a meter before a run or board is joined: reversed wires destroy it at once."
FUSE: Final = (
    "A fuse that blew did so for a reason: look for the short first, and never fit a larger one than the wire allows."
)
GROUND: Final = (
    "Join 0 V before any data line, and part it last: else the supply's current may return through the data pins."
)
PARALLEL: Final = "Never join the positives of two supplies: the positive rail stays cut between them."
HEAT: Final = "Supplies, wires and pixels get hot enough to burn: let them cool, and leave them air."
METER: Final = (
    "Low volts, high current: a probe that slips from + to – arcs and burns. Meter on DC volts, one hand, no rings."
)
