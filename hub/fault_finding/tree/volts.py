"""Volts along a run: an end that turns red or dim, and a run that is too dim as a whole."""

from typing import Final

from hub.cautions import FUSE, HEAT, PARALLEL
from hub.fault_finding import carry
from hub.fault_finding.hands import Hands
from hub.fault_finding.known import NO, YES, limiter_dims, planned_too_low, several_feeds, trimmed
from hub.fault_finding.step import Choice, Diagnosis, Question, Step
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree.gate import heard_first

PRACTICE: Final = "common practice, no source"
NETWORK: Final = "the venue's network solved for volts, as in the audit; blue and green fade first (common practice)"

STEPS: Final[tuple[Step, ...]] = (
    heard_first(Symptom.FAR_END_FADES, "far-end-bars"),
    Question(
        step="far-end-bars",
        words="How does the white bar at the far end look beside the white bar at the start?",
        look="Ten bars, the first and the last in white; beside the last stands a red one to hold it against.",
        choices=(
            Choice("fades", "Redder or darker", "far-end-planned"),
            Choice("alike", "Alike", "far-end-planned-bright"),
            Choice("pixels", "A stretch of pixels differs, wherever it lies", "pixels-differ"),
        ),
        shows="bars",
    ),
    Question(
        step="far-end-planned",
        words="Does the run have too few volts by the plan itself?",
        look="`stringcourse audit` lists the lowest volts of each run, and what its type needs ({minimum_v}).",
        choices=(Choice(YES, "Yes", "underfed"), Choice(NO, "No", "far-end-volts")),
        known=planned_too_low,
    ),
    Question(
        step="far-end-planned-bright",
        words="Does the run have too few volts by the plan, once all is as bright as the budget lets it?",
        look="`stringcourse audit` lists the lowest volts of each run, and what its type needs ({minimum_v}).",
        choices=(Choice(YES, "Yes", "underfed"), Choice(NO, "No", "scene-colours")),
        known=planned_too_low,
    ),
    Question(
        step="far-end-volts",
        words="What does the meter read across + and – at pixel {last_pixel}, with the bars on?",
        look="By the plan {far_end_v} or more; below {minimum_v} colours shift.",
        choices=(
            Choice("good", "About that, or more", "pixels-differ"),
            Choice("low", "Less than {minimum_v}", "far-end-feeds"),
            Choice("between", "Between the two", "far-end-feeds"),
        ),
        hands=Hands.METER,
        shows="bars",
    ),
    Question(
        step="far-end-feeds",
        words="Does the run have more than one feed by the plan?",
        look="The wiring sheet shows each place where power enters.",
        choices=(Choice(YES, "Yes", "far-end-each-feed"), Choice(NO, "No", "far-end-at-input")),
        known=several_feeds,
    ),
    Question(
        step="far-end-each-feed",
        words="Does each of its feeds bring power?",
        look="At each place where power enters, the volts should be close to those at the supply.",
        choices=(
            Choice("yes", "Yes, all of them", "far-end-at-input"),
            Choice("no", "No, one does not", "feed-open"),
        ),
        hands=Hands.METER,
        shows="bars",
    ),
    Question(
        step="far-end-at-input",
        words="What does the meter read where power enters the run, with the bars on?",
        look="It should be close to {volts}.",
        choices=(
            Choice("good", "Close to {volts}", "bad-joint"),
            Choice("low", "Clearly less", "far-end-at-supply"),
        ),
        hands=Hands.METER,
        shows="bars",
    ),
    Question(
        step="far-end-at-supply",
        words="And at the supply's own output terminals?",
        look="It should be {volts}, as on its nameplate.",
        choices=(
            Choice("good", "Close to {volts}", "feed-wire-thin"),
            Choice("low", "Clearly less there too", "supply-sags"),
        ),
        hands=Hands.METER,
    ),
    heard_first(Symptom.TOO_DIM, "dim-limiter"),
    Question(
        step="dim-limiter",
        words="Is the budget limiter of {node} at work?",
        look="`stringcourse node show {node}` lists a limiter scale below 1 for a supply where it is.",
        choices=(Choice(YES, "Yes", "budget-dims"), Choice(NO, "No", "dim-trims")),
        known=limiter_dims,
    ),
    Question(
        step="dim-trims",
        words="Do the venue's own levels make the run darker?",
        look="The master level, and the trim of each zone that holds the run.",
        choices=(Choice(YES, "Yes", "trimmed-down"), Choice(NO, "No", "dim-ramp")),
        known=trimmed,
    ),
    Question(
        step="dim-ramp",
        words="How bright is the far end beside a run of the same kind with the same ramp?",
        look="The ramp ends at half light. Show it on the other run by `stringcourse node test-pattern`.",
        choices=(
            Choice("alike", "As bright", "scene-dim"),
            Choice("darker", "Darker, most of all at the far end", "far-end-planned"),
            Choice("all-darker", "Darker all along", "far-end-at-input"),
            Choice("dirty", "As bright at the pixels, but not from the street", "diffuser-dirty"),
        ),
        shows="ramp",
    ),
    Diagnosis(
        step="underfed",
        title="The run is too long for where it is fed",
        likely="By the plan itself the far end has less than the {minimum_v} that its type needs.",
        proof="With a bright scene on, the meter falls from feed to far end, and a darker scene brings the colours "
        "back.",
        remedy="Feed it at more places (`stringcourse advice feeds {node} --channel {channel}`), thicken the wires, or "
        "lower the level.",
        carry=(carry.feed_wire, carry.fuses, carry.meter, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(PARALLEL, FUSE),
        source=NETWORK,
    ),
    Diagnosis(
        step="bad-joint",
        title="Volts are lost inside the run",
        likely="A joint between two lengths has turned bad, or the copper is thinner than planned.",
        proof="Move the probes along the run with the bars on: at a bad joint the volts fall at once, else evenly.",
        remedy="Make the joint anew. If they fall evenly, feed the far end too and state `loop_ohm_per_m` as measured.",
        carry=(carry.meter, carry.joining_tools, carry.feed_wire, carry.fuses),
        hands=Hands.WORK,
        more_cautions=(HEAT, PARALLEL),
        source=NETWORK,
        if_not="pixels-differ",
    ),
    Diagnosis(
        step="feed-wire-thin",
        title="Volts are lost in the feed",
        likely="The feed's wire is thinner or longer than planned, or a terminal or fuse holder has turned bad.",
        proof="Between supply and run measure across each conductor alone, then across each terminal: where volts "
        "stand, they are lost. What is warm to the back of the hand is what is bad.",
        remedy="Make the terminal anew, or lay wire as planned or thicker.",
        carry=(carry.meter, carry.feed_wire, carry.fuses, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(HEAT, FUSE),
        source=NETWORK,
        if_not="bad-joint",
    ),
    Diagnosis(
        step="supply-sags",
        title="The supply does not hold its volts",
        likely="It is overloaded, set too low, too hot, or worn out.",
        proof="Blackout: do its volts come back? Then it is the load; compare amps with its {rated_a} in the audit.",
        remedy="With too much load: share the runs out over more supplies. Else set its volts back, or change it.",
        carry=(carry.meter, carry.spare_supply, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(HEAT, PARALLEL),
        source=PRACTICE,
    ),
    Diagnosis(
        step="pixels-differ",
        title="The pixels themselves differ",
        likely="Another batch, or pixels that aged: those that are lit most, or sit warmest, fade first.",
        proof="Swap a length of the run with another: the tint moves with the pixels.",
        remedy="Change the length, or even the runs out by `white_balance`.",
        carry=(carry.spare_pixels, carry.joining_tools, carry.meter),
        hands=Hands.WORK,
        more_cautions=(HEAT,),
        source=PRACTICE,
    ),
    Diagnosis(
        step="budget-dims",
        title="The budget limiter dims the run to keep its supply safe",
        likely="The scene asks for more than the supply's budget, or than this board's share of it.",
        proof="A darker scene brings the limiter's scale back to 1. The limiter does what it is for: leave it be.",
        remedy="Lower the scene's opacity or white, share the supply by need, or fit a larger one with wire and "
        "fuse to match.",
        carry=(carry.wiring_sheet, carry.spare_supply),
        hands=Hands.DESK,
        more_cautions=(HEAT,),
        source="the limiter scale that the board tells",
    ),
    Diagnosis(
        step="trimmed-down",
        title="The venue's own levels make the run darker",
        likely="The master level, or the trim of a zone that holds this run, is below 1.",
        proof="The ramp of a test pattern, which comes after the trims, is as bright as elsewhere.",
        remedy="Raise the level or the trim; look at the budget of the supply before.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="the inventory",
        if_not="dim-ramp",
    ),
    Diagnosis(
        step="scene-dim",
        title="The run is sound; the scene is dark here",
        likely="The scene's colours or opacity are low on this zone.",
        proof="The ramp was as bright as on another run.",
        remedy="Raise the layer's opacity, and see preview and current before it goes out.",
        carry=(carry.wiring_sheet,),
        hands=Hands.DESK,
        source="the test pattern went through data and power",
    ),
    Diagnosis(
        step="diffuser-dirty",
        title="The light does not get out",
        likely="A diffuser or cover that is dirty, yellowed or has slipped.",
        proof="Take the cover off one stretch and compare.",
        remedy="Clean or change the cover.",
        carry=(carry.wiring_sheet, carry.joining_tools),
        hands=Hands.WORK,
        more_cautions=(HEAT,),
        source=PRACTICE,
    ),
)
