"""What an audit rests on, and what it leaves to others, in words."""

from collections.abc import Sequence
from typing import Final

from hub.audit.wiring_view import RunAudit
from hub.electrical.ampacity import AMBIENT_C, INSULATION_C
from hub.electrical.circuits import ASSUMED_LOOP_OHM_PER_M
from schemas import Venue

CAUTIONS: Final = (
    "Power off and unplugged before anything is wired or changed; check polarity before runs are joined.",
    "The mains side of every supply, and whatever local code reserves, belongs to a licensed electrician.",
    "The budget is kept by software and protects no wire: fit a fuse close to the supply in each feed, no larger than "
    "its wire allows.",
    "Never join the positive rails of two supplies; keep grounds common.",
    "Supplies, wires and pixels get hot: leave them air. Work at height is never done alone.",
    "Flashing light can bring on seizures: keep scenes below three flashes in any second (WCAG 2.2, 2.3.1).",
    "These figures are estimates from data sheets and drawings: measure volts, amps and warmth before you sign.",
)


def assumptions_of(venue: Venue, runs: Sequence[RunAudit]) -> list[str]:
    """What the audit of `venue` takes for granted, with where each comes from."""
    assumed = [run for run in runs if run.loop_ohm_assumed]
    derated = sorted({supply.derating for supply in venue.supplies})
    lines = [
        f"Derating of the supplies: {', '.join(f'{one:g}' for one in derated) or 'none'}. 0.8 for continuous load is "
        "common practice for a DC supply, no source.",
        "Typical and worst-case currents of a pixel are those of its pixel type, with their sources there; 20 mA and "
        "60 mA for RGB at 5 V are common practice, no source.",
        "Under budget means: all pixels of a supply lit alike, as bright as its budget lets them be.",
        "Pixels are loads of constant current; below its type's lowest working volts a pixel's current falls in "
        "proportion where the data sheet allows it, and stays where it does not say so (assumption, no source).",
        "Wires are flexible copper at the temperature that each feed states: IEC 60228 class 5 maxima by "
        "area, ASTM B258 geometry by gauge.",
        f"Ampacity is for a feed alone in air of {AMBIENT_C:g} °C with insulation for {INSULATION_C:g} °C: hotter "
        "voids and bundles bear less (`stringcourse advice wire`).",
        "Fuses are blade fuses up to 32 V, cartridges above.",
        "Supplies keep their stated volts, less their stated output resistance times their load; their negatives count "
        "as joined by the runs alone.",
        "What boards told is of the last 30 days: the highest adds up each node's highest frame of its newest "
        "interval; the 95th percentile counts the time in which all nodes of the supply were heard.",
    ]
    if assumed:
        lines.append(
            f"{len(assumed)} of {len(runs)} runs do not state the resistance of their copper: taken is "
            f"{ASSUMED_LOOP_OHM_PER_M:.2f} ohms a metre for both rails (70 µm × 5 mm each; common practice, no "
            "source). Measure one, and state `loop_ohm_per_m`."
        )
    return lines
