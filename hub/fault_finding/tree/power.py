"""A supply that gives nothing, or too little: everything on it is dark."""

from typing import Final

from hub.cautions import FUSE, HEAT, MAINS, METER, PARALLEL
from hub.fault_finding import carry
from hub.fault_finding.hands import Hands
from hub.fault_finding.step import Choice, Diagnosis, Question, Step

PRACTICE: Final = "common practice, no source"

STEPS: Final[tuple[Step, ...]] = (
    Question(
        step="supply-volts",
        words="What does the meter read at the output terminals of {supply}?",
        look="Between + and –, covers of the mains side left on. It should be {volts}.",
        choices=(
            Choice("good", "Close to {volts}", "supply-feeds"),
            Choice("low", "Clearly less, or it jumps", "supply-sags"),
            Choice("none", "Nothing", "supply-mains"),
        ),
        hands=Hands.METER,
    ),
    Question(
        step="supply-feeds",
        words="Behind the fuses of its feeds: do they have volts?",
        look="Between – and the far side of each fuse ({fuses}).",
        choices=(
            Choice("none", "One or more have none", "feed-open"),
            Choice("all", "All have", "supply-sound"),
        ),
        hands=Hands.METER,
    ),
    Question(
        step="supply-mains",
        words="Does anything else on the same mains circuit work?",
        look="A lamp, a socket, another supply. Look at its breaker too, but do not reset it again and again.",
        choices=(
            Choice("works", "Yes, the circuit has power", "supply-without-load"),
            Choice("dead", "No, the circuit is dead, or its breaker is off", "mains-off"),
        ),
        more_cautions=(MAINS,),
    ),
    Question(
        step="supply-without-load",
        words="Does it give {volts} with all of its feeds parted?",
        look="Switch it off for five minutes, take the feeds' fuses out, switch it on, measure at its output.",
        choices=(
            Choice("yes", "Yes", "short-behind-feed"),
            Choice("no", "No", "supply-dead"),
        ),
        hands=Hands.WORK,
        more_cautions=(METER, FUSE, HEAT),
    ),
    Diagnosis(
        step="supply-sound",
        title="The supply and its fuses are sound",
        likely="Power reaches the feeds: what is dark has lost its data, or a joint behind the fuses.",
        proof="Volts behind each fuse, close to {volts}.",
        remedy="Begin again with one of the dark runs: nothing lights.",
        carry=(carry.meter, carry.wiring_sheet, carry.joining_tools),
        hands=Hands.METER,
        source=PRACTICE,
    ),
    Diagnosis(
        step="mains-off",
        title="The mains circuit of the supply is off",
        likely="A breaker tripped, or somebody switched it off. A breaker that trips again tells of a fault.",
        proof="Other things on the circuit are dead as well.",
        remedy="Ask who switched it off. Reset a breaker once at most, by whoever may; else call the electrician.",
        carry=(carry.wiring_sheet, carry.meter),
        hands=Hands.LOOK,
        more_cautions=(MAINS,),
        source=PRACTICE,
        if_not="supply-dead",
    ),
    Diagnosis(
        step="short-behind-feed",
        title="A short or an overload behind one of the feeds",
        likely="The supply protects itself and shuts down: a run or feed has a short, or all together ask for too "
        "much.",
        proof="Fuses back in one after another, each with power off: the one with which it shuts down has the fault.",
        remedy="Part that run into halves to find the short. If each works alone, it is the sum: look at the audit.",
        carry=(carry.meter, carry.fuses, carry.joining_tools, carry.spare_pixels),
        hands=Hands.WORK,
        more_cautions=(FUSE, HEAT, PARALLEL),
        source=PRACTICE,
        if_not="supply-dead",
    ),
    Diagnosis(
        step="supply-dead",
        title="The supply is dead",
        likely="It has mains and no load, and gives nothing: its own fuse or electronics.",
        proof="No volts at its output with all feeds parted, on a circuit that has power.",
        remedy="Have it changed for one of the same volts and at least {rated_a}; set its volts before feeds are "
        "joined. Do not open it.",
        carry=(carry.spare_supply, carry.meter, carry.fuses, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(HEAT, PARALLEL),
        source=PRACTICE,
    ),
)
