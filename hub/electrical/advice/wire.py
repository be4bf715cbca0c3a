"""Which wire is the smallest for a length and a current: by voltage drop, and by what it may carry."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Final

from pydantic import Field

from hub.electrical.advice.answer import CAUTIONS, Advice, Question, Value
from hub.electrical.ampacity import AMBIENT_C, INSULATION_C, ampacity_a, working_c
from hub.electrical.ampacity import SOURCE as AMPACITY_SOURCE
from hub.electrical.copper import IEC_60228_FLEXIBLE_OHM_PER_KM, flexible_ohm_per_m, gauge_ohm_per_m
from schemas.wire_gauge import awg_area_mm2

AREAS_MM2: Final = tuple(IEC_60228_FLEXIBLE_OHM_PER_KM)
GAUGES: Final = (24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2)
"""The usual ones, thinnest first."""

AmbientC = Annotated[float, Field(ge=-40, lt=INSULATION_C, description="Temperature of the air around the wire, °C.")]
LoadedConductors = Annotated[
    int, Field(ge=2, le=200, description="Loaded conductors that lie together: 2 for a feed alone, 4 for two feeds.")
]


class WireQuestion(Question):
    """Length, current, and what may be lost."""

    length_m: Annotated[float, Field(gt=0, le=500, description="One-way length, metres; both conductors are counted.")]
    current_a: Annotated[float, Field(gt=0, le=500, description="Amps in the wire for long.")]
    volts: Annotated[float, Field(gt=0, le=60, description="Volts of the supply, DC.")]
    drop_percent: Annotated[
        float, Field(gt=0, le=50, description="Of the supply's volts, what the wire may lose; percent.")
    ] = 3.0
    ambient_c: AmbientC = AMBIENT_C
    loaded_conductors: LoadedConductors = 2


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire that one can buy, under the load of a question."""

    name: str
    area_mm2: float
    gauge: int | None
    drop_v: float
    ampacity_a: float
    conductor_c: float

    def drops_little(self, question: WireQuestion) -> bool:
        return self.drop_v <= question.volts * question.drop_percent / 100 * (1 + 1e-9)

    def carries(self, question: WireQuestion) -> bool:
        return self.ampacity_a >= question.current_a * (1 - 1e-9)

    def serves(self, question: WireQuestion) -> bool:
        return self.drops_little(question) and self.carries(question)


def wires_for(question: WireQuestion) -> tuple[list[Wire], list[Wire]]:
    """Every nominal area and every usual gauge under the question's load, thinnest first."""
    areas = [_wire(question, area, None) for area in AREAS_MM2]
    gauges = [_wire(question, awg_area_mm2(gauge), gauge) for gauge in GAUGES]
    return areas, gauges


def smallest_wire(question: WireQuestion) -> Advice:
    """The smallest wire by area and by gauge that keeps both rules, and which of them decided."""
    areas, gauges = wires_for(question)
    area, gauge = _first(areas, question), _first(gauges, question)
    allowed_v = question.volts * question.drop_percent / 100
    values: dict[str, Value] = {"allowed_drop_v": round(allowed_v, 4)}
    if area is None:
        answer = (
            f"No wire up to {AREAS_MM2[-1]:g} mm² does for {question.current_a:g} A over {question.length_m:g} m: "
            "bring the supply nearer, share the current over more feeds, or use pixels of higher volts."
        )
        confirmation = _tell(areas[-1], question)
    else:
        decided_by = _decided_by(areas, area, question)
        values |= {"wire_mm2": area.area_mm2, **_figures(area, question), "decided_by": decided_by}
        if gauge is not None:
            values |= {"wire_awg": gauge.gauge or 0, "awg_drop_v": round(gauge.drop_v, 4)}
            values |= {"awg_ampacity_a": round(gauge.ampacity_a, 2)}
        answer = (
            f"{area.name}{'' if gauge is None else f' or {gauge.name}'} is the smallest wire for "
            f"{question.current_a:g} A over {question.length_m:g} m: decided by {decided_by}."
        )
        thinner = next((one for one in reversed(areas) if one.area_mm2 < area.area_mm2), None)
        confirmation = " ".join(_tell(one, question) for one in (area, thinner) if one is not None)
    return Advice(
        question="Which wire is the smallest for this length and current?",
        answer=answer,
        found=area is not None,
        values=values,
        formula="drop = 2 × length × current × ohms per metre at the wire's temperature, at most volts × percent / 100;"
        " current at most the ampacity; temperature = ambient + 30 K × (current / ampacity at 30 °C)²",
        inputs=question.inputs(),
        source="Resistance: IEC 60228 class 5 maximum by area; ASTM B258 geometry (from memory) with the stranding "
        "of NEC chapter 9 table 8 by gauge; 0.393 % per K. 3 % for a feed: common practice, no source. "
        + AMPACITY_SOURCE,
        confirmation=confirmation,
        cautions=[
            *CAUTIONS,
            "The run's own copper loses volts too: the audit and the advice on feeds tell the volts at each pixel.",
        ],
    )


def _wire(question: WireQuestion, area_mm2: float, gauge: int | None) -> Wire:
    warm_c = working_c(
        question.current_a, area_mm2, ambient_c=question.ambient_c, loaded_conductors=question.loaded_conductors
    )
    # Hotter than its insulation bears, it is out by its ampacity, and its drop is told as of then.
    warm_c = min(warm_c, INSULATION_C)
    ohm_per_m = flexible_ohm_per_m(area_mm2, warm_c) if gauge is None else gauge_ohm_per_m(gauge, warm_c)
    return Wire(
        name=f"{area_mm2:g} mm²" if gauge is None else f"{gauge} AWG",
        area_mm2=area_mm2,
        gauge=gauge,
        drop_v=2 * question.length_m * question.current_a * ohm_per_m,
        ampacity_a=ampacity_a(area_mm2, ambient_c=question.ambient_c, loaded_conductors=question.loaded_conductors),
        conductor_c=warm_c,
    )


def _first(wires: Iterable[Wire], question: WireQuestion) -> Wire | None:
    return next((one for one in wires if one.serves(question)), None)


def _decided_by(wires: Iterable[Wire], chosen: Wire, question: WireQuestion) -> str:
    thinner = [one for one in wires if one.area_mm2 < chosen.area_mm2]
    if not thinner:
        return "the table's thinnest"
    drops_little, carries = thinner[-1].drops_little(question), thinner[-1].carries(question)
    if not drops_little and not carries:
        return "drop and ampacity"
    return "ampacity" if drops_little else "drop"


def _figures(wire: Wire, question: WireQuestion) -> dict[str, Value]:
    return {
        "drop_v": round(wire.drop_v, 4),
        "drop_percent": round(100 * wire.drop_v / question.volts, 3),
        "ampacity_a": round(wire.ampacity_a, 2),
        "conductor_c": round(wire.conductor_c, 1),
    }


def _tell(wire: Wire, question: WireQuestion) -> str:
    return (
        f"{wire.name} drops {wire.drop_v:.3g} V of {question.volts * question.drop_percent / 100:.3g} V allowed and "
        f"may carry {wire.ampacity_a:.3g} A: {'holds' if wire.serves(question) else 'fails'}."
    )
