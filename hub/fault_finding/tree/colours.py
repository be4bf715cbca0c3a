"""A first pixel that is right with the rest wrong, and colours that are wrong along a run."""

from typing import Final

from hub.fault_finding import carry
from hub.fault_finding.hands import Hands
from hub.fault_finding.step import Choice, Diagnosis, Question, Step
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree.gate import heard_first

PRACTICE: Final = "common practice, no source"

STEPS: Final[tuple[Step, ...]] = (
    heard_first(Symptom.FIRST_PIXEL_ONLY, "first-seen"),
    heard_first(Symptom.WRONG_COLOURS, "thirds-seen"),
    Question(
        step="first-seen",
        words="Which pixels light now?",
        look="One white pixel is asked for: the one where the data enters.",
        choices=(
            Choice("first", "The first one, in white", "thirds-seen"),
            Choice("tinted", "The first one, but not in white", "thirds-seen"),
            Choice("far-end", "One at the end that was planned as the far one", "runs-backwards"),
            Choice("several", "Several, or they flash", "data-ground"),
            Choice("none", "None", "nothing-neighbours"),
        ),
        shows="first-pixel",
    ),
    Question(
        step="thirds-seen",
        words="What do you see along the run?",
        look="Even thirds of red, green and blue are asked for, from where the data enters; its first pixel white.",
        choices=(
            Choice("other-colours", "Even thirds, but of other colours", "colour-order-wrong"),
            Choice("mixed", "Colours that change from pixel to pixel", "emitters-miscounted"),
            Choice("backwards", "The right thirds, blue where the data was planned to enter", "runs-backwards"),
            Choice("first-only", "The first pixel, the rest is dark or stands still", "cut-off-beyond"),
            Choice("end-shifts", "Right at the start, shifting towards the end", "far-end-bars"),
            Choice("flashing", "Pixels that flash or jump", "data-ground"),
            Choice("right", "All of it as it should be", "scene-colours"),
        ),
        shows="thirds",
    ),
    Diagnosis(
        step="colour-order-wrong",
        title="The order of the colours is another than planned",
        likely="These pixels take their colours in another order than {colour_order}: orders differ between reels.",
        proof="Note what red, green and blue came out as, and put the order together from that.",
        remedy="Give the run a pixel type with that order (`stringcourse pixel-type`), then see the thirds again.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="the thirds prove the order on the wire",
        if_not="emitters-miscounted",
    ),
    Diagnosis(
        step="emitters-miscounted",
        title="The pixels have another number of emitters than planned",
        likely="RGB pixels driven as RGBW or the other way round: each takes a byte more or less than it is sent, so "
        "that the first is right and the error grows from there.",
        proof="Look at one closely: a fourth, yellowish or white emitter is a W.",
        remedy="Give the run the right pixel type. Then look at the audit anew: RGBW draws more.",
        carry=(carry.wiring_sheet, carry.spare_pixels),
        hands=Hands.DESK,
        source="three or four bytes a pixel (data sheets of NRZ pixels, from memory)",
        if_not="pixel-passes-no-data",
    ),
    Diagnosis(
        step="runs-backwards",
        title="The run was hung the other way round",
        likely="Its data enters at the end that the plan calls the far one.",
        proof="`stringcourse node walk {node} --channel {channel}`: the pixel starts at the other end.",
        remedy="Turn the run's span round in the venue, which takes no ladder, and move feeds in the plan to where "
        "they are. Or hang the run anew.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="the first pixel is where the data enters",
        if_not="wrong-end",
    ),
    Diagnosis(
        step="wrong-end",
        title="The data line is at the wrong end of the run",
        likely="Data runs one way; at its output a run takes none.",
        proof="Arrows on the run point away from its input; pads read DI or DIN there.",
        remedy="Power off, bring the data line to the input, or turn the run.",
        carry=(carry.data_wire, carry.joining_tools, carry.meter),
        hands=Hands.WORK,
        source=PRACTICE,
        if_not="first-pixel-dead",
    ),
    Diagnosis(
        step="scene-colours",
        title="The run is sound; the scene or its white asks for these colours",
        likely="White balance of the run, white point of its zone, or the scene's own colours.",
        proof="The thirds came out right, so data, order and volts are.",
        remedy="Compare the scene's preview; then look at the run's white balance and the zone's white point.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="the test pattern went through data, order and power",
    ),
)
