"""What every sheet says beside its drawing: cautions, and how things are wired as the trade does it."""

from typing import Final

CAUTIONS: Final = (
    "Power off and unplugged before anything is wired or changed; wait until the supplies have discharged.",
    "Check polarity with a meter before a run is joined: reversed supply wires destroy it at once.",
    "The mains side of every supply belongs to a licensed electrician under the local code, and so does whatever the "
    "code says of low voltage.",
    "Fuse every feed in its positive wire, close to the supply, no larger than the wire allows.",
    "Never join the positives of two supplies: cut the positive rail of the run between them.",
    "Supplies, wires and pixels get hot: leave them air, and keep them off what burns.",
    "Work at height is never done alone.",
    "Flashing light can bring on seizures: warn those around before a test, keep scenes below three flashes in any "
    "second (WCAG 2.2, 2.3.1).",
)

PRACTICE: Final = (
    "Common ground: join the board's 0 V to the negative of every supply on this sheet before any data line.",
    "Data runs one way, into pixel 0, the end of the run that is marked as its input.",
    "Keep each data line short, and lay a 0 V wire beside it (common practice, no source).",
    "Level shifter: the board's outputs give 3.3 V, 5 V pixels want more; put it close to the board (common practice, "
    "no source).",
    "Series resistor: 300 to 500 Ω in each data line, behind the level shifter (common practice, no source).",
    "Capacitor: about 1000 µF, rated above the supply's volts, across + and – where power enters each run, its + to "
    "the + (common practice, no source).",
    "A cut parts the positive rail alone: the negative rail and the data line go through.",
    "Colours of wires are for your local code to say. Label both ends of each feed with its name.",
)
