"""A data line that is heard badly: a run that flickers, pixels that flash at random."""

from typing import Final

from hub.cautions import GROUND, HEAT
from hub.fault_finding import carry
from hub.fault_finding.hands import FLASH, Hands
from hub.fault_finding.step import Choice, Diagnosis, Question, Step
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree.gate import heard_first

PRACTICE: Final = "common practice, no source"
LEVEL_SOURCE: Final = "pixels read 0.7 of their volts as high, 3.5 V of 5 V (their data sheets, from memory)"

STEPS: Final[tuple[Step, ...]] = (
    heard_first(Symptom.FLICKERS, "flicker-how-many"),
    Question(
        step="flicker-how-many",
        words="What flickers?",
        look="Watch other runs of {node} and others on {supply} as well.",
        choices=(
            Choice("run", "This run alone", "flicker-ramp"),
            Choice("board", "All runs of this board", "data-ground"),
            Choice("supply", "All that hangs on {supply}, other boards' runs too", "flicker-brighter"),
            Choice("camera", "Only what a camera films", "camera-beats"),
        ),
        more_cautions=(FLASH,),
    ),
    Question(
        step="flicker-ramp",
        words="Does it flicker now, with the ramp standing still?",
        look="Nothing of the pattern moves: whatever moves is a fault.",
        choices=(
            Choice("yes", "Yes", "flicker-brighter"),
            Choice("dark-end", "At its darkest pixels only, a faint shimmer", "dither-shimmers"),
            Choice("no", "No, it stands still", "scene-moves"),
        ),
        shows="ramp",
        more_cautions=(FLASH,),
    ),
    Question(
        step="flicker-brighter",
        words="Is it worse the brighter the scene is?",
        look="Compare a dark scene with a bright one, or lower the master level for a moment.",
        choices=(
            Choice("yes", "Yes, dark scenes are steady", "flicker-supply-volts"),
            Choice("no", "No, it is the same", "data-ground"),
        ),
        more_cautions=(FLASH,),
    ),
    Question(
        step="flicker-supply-volts",
        words="Do the volts where power enters jump about while a bright scene is on?",
        look="They should stay close to {volts}.",
        choices=(
            Choice("yes", "Yes, they jump or fall", "far-end-at-supply"),
            Choice("no", "No, they are steady", "capacitor-missing"),
        ),
        hands=Hands.METER,
    ),
    heard_first(Symptom.RANDOM_FLASHES, "flashes-first"),
    Question(
        step="flashes-first",
        words="Do other pixels flash now, though only the first one should be lit?",
        look="Watch for a minute. Note whether something near switches at the same time: a motor, a fridge, a dimmer.",
        choices=(
            Choice("yes", "Yes", "data-ground"),
            Choice("switching", "Only when something near switches", "line-picks-up"),
            Choice("no", "No", "scene-moves"),
        ),
        shows="first-pixel",
        more_cautions=(FLASH,),
    ),
    Question(
        step="data-ground",
        words="Does a 0 V wire lie beside the data line, from the board to the – of the run's supply?",
        look="Power off. Continuity between the board's 0 V and – at the run's input: it should beep.",
        choices=(
            Choice("yes", "Yes", "data-shifter"),
            Choice("far", "Joined, but far away, through another cable", "no-common-ground"),
            Choice("no", "No", "no-common-ground"),
        ),
        hands=Hands.WORK,
        more_cautions=(GROUND,),
    ),
    Question(
        step="data-shifter",
        words="Is there a level shifter close to the board, powered at 5 V?",
        look="A board gives 3.3 V; many pixels want more. Measure its supply pins, too.",
        choices=(
            Choice("yes", "Yes", "data-length"),
            Choice("no", "No, or it has no 5 V", "data-level-low"),
        ),
        hands=Hands.METER,
    ),
    Question(
        step="data-length",
        words="How does the data line lie?",
        look="From the board to the first pixel.",
        choices=(
            Choice("long", "Longer than some 5 m", "data-line-long"),
            Choice("mains", "Beside mains cables, a dimmer or a motor", "line-picks-up"),
            Choice("short", "Short and by itself", "line-rings"),
        ),
    ),
    Diagnosis(
        step="no-common-ground",
        title="Board and supply have no common ground",
        likely="The board's 0 V is not joined to the negative of the run's supply near the data line: data has no way "
        "back and is read against whatever floats.",
        proof="Power off: no continuity between the board's 0 V and – at the run's input, or only by a long way round.",
        remedy="Lay a 0 V wire beside the data line, and join it to the negative of every supply of the board.",
        carry=(carry.meter, carry.ground_wire, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(GROUND, FLASH),
        source=PRACTICE,
        if_not="data-shifter",
    ),
    Diagnosis(
        step="data-level-low",
        title="The data level is too low for these pixels",
        likely="The board's 3.3 V reach the first pixel, which reads them as high on good days only.",
        proof="Put a level shifter between board and line for a try; or see whether the fault goes while the supply is "
        "at the low end of what the pixels allow.",
        remedy="Fit a level shifter close to the board, its 5 V and 0 V joined.",
        carry=(carry.level_shifter, carry.meter, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(GROUND, FLASH),
        source=LEVEL_SOURCE,
        if_not="data-length",
    ),
    Diagnosis(
        step="data-line-long",
        title="The data line is too long",
        likely="Edges are rounded and ring on a long line; some 5 m are what usually works.",
        proof="Try the run on a short line for a moment, the board beside it.",
        remedy="Bring the board nearer, fit a resistor of 300 to 500 Ω behind the level shifter, or a pair of line "
        "drivers made for the length.",
        carry=(carry.data_wire, carry.level_shifter, carry.joining_tools, carry.meter),
        hands=Hands.WORK,
        more_cautions=(GROUND, FLASH),
        source=PRACTICE,
        if_not="line-rings",
    ),
    Diagnosis(
        step="line-picks-up",
        title="The data line picks up what its neighbours switch",
        likely="It lies beside mains cables, a dimmer or a motor.",
        proof="Have the neighbour switched while you watch the first pixel alone: flashes come with it.",
        remedy="Lay the line apart from mains, crossing at right angles, with its 0 V twisted round it. Moving mains "
        "cables is the electrician's.",
        carry=(carry.data_wire, carry.joining_tools, carry.meter),
        hands=Hands.WORK,
        more_cautions=(GROUND, FLASH),
        source=PRACTICE,
        if_not="line-rings",
    ),
    Diagnosis(
        step="line-rings",
        title="The data line rings, or its joint is bad",
        likely="There is no series resistor, or a joint or plug in the line has turned bad.",
        proof="Wag the plugs while the pattern stands: flashes come with the bad one. Else fit the resistor for a try.",
        remedy="Fit 300 to 500 Ω in the line behind the level shifter; make bad joints anew.",
        carry=(carry.data_wire, carry.joining_tools, carry.meter, carry.level_shifter),
        hands=Hands.WORK,
        more_cautions=(GROUND, FLASH),
        source=PRACTICE,
        if_not="output-dead",
    ),
    Diagnosis(
        step="capacitor-missing",
        title="Power at the run gives way to every change of light",
        likely="There is no capacitor where power enters, or it dried out.",
        proof="Fit one for a try: the flicker goes or gets less.",
        remedy="Fit a capacitor of about 1000 µF across + and – where power enters the run, its + to the +.",
        carry=(carry.capacitor, carry.joining_tools, carry.meter),
        hands=Hands.WORK,
        more_cautions=(HEAT,),
        source=PRACTICE,
        if_not="data-ground",
    ),
    Diagnosis(
        step="dither-shimmers",
        title="Dark light is dithered",
        likely="Below the smallest step of 8 bits the board shows levels by turns; close up that may shimmer.",
        proof="It is only at the darkest pixels, and not seen from where the public stands.",
        remedy="Nothing is broken. Keep dark scenes a little brighter, or cover the pixels with a diffuser.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="how boards show levels between two codes",
    ),
    Diagnosis(
        step="scene-moves",
        title="The run is sound; the scene itself moves there",
        likely="Twinkles, noise or steps of the scene.",
        proof="A still test pattern stood still.",
        remedy="Look at the scene's preview and its flash check, and change the layer.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        more_cautions=(FLASH,),
        source="the test pattern stood still",
        if_not="loose-joint",
    ),
    Diagnosis(
        step="camera-beats",
        title="Only cameras see it",
        likely="The pixels redraw themselves at a rate that beats with the camera's shutter.",
        proof="The eye sees a steady run; another shutter time changes the bands.",
        remedy="Film with a longer shutter time, or one that fits; some kinds of pixels redraw faster than others.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="`refresh_hz` of the pixel type",
    ),
)
