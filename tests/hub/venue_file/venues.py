"""Hypothesis strategies for whole venues without a mistake: built so, not filtered."""

import json
import re
from datetime import date
from typing import Any, get_args

from hypothesis import strategies as st

from hub.desired import extent_of
from hub.statements import ParameterKind, pattern_views
from node_agent.render import PatternStatement
from node_agent.render.patterns.spot import Spot, SpotSpan
from schemas import Extent, LinearColour, TemperatureColour
from schemas.colour import CSS_COLOURS, Colour
from schemas.contract import Contract
from schemas.pattern import PATTERNS
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.pixel_type import EmitterCurrents, NrzTiming, PixelType, PixelTypeSources
from schemas.scene import Blend, Layer, Scene
from schemas.timetable import Cue, CueList, Place, TimetableEntry, Weekday
from schemas.venue import Channel, Feed, Node, Run, Span, Supply, Venue, WhiteBalance, Zone
from tests.node_agent.render.patterns.examples import EXAMPLES

ids = st.from_regex(re.compile(r"[a-z0-9](?:[a-z0-9-]{0,8}[a-z0-9])?", re.ASCII), fullmatch=True)
# No control characters (Cc) and no lone surrogates (Cs): the contracts and UTF-8 refuse them.
titles = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=30)
notes = st.text(st.characters(exclude_categories=("Cc", "Cs"), include_characters="\n\t"), max_size=60)
shares = st.floats(0, 1, allow_subnormal=False)
colours: st.SearchStrategy[Colour] = st.one_of(
    st.from_regex(re.compile(r"#[0-9a-f]{6}"), fullmatch=True),
    st.sampled_from(sorted(CSS_COLOURS)),
    st.builds(LinearColour, linear=st.tuples(shares, shares, shares)),
    st.builds(TemperatureColour, kelvin=st.floats(1_000, 20_000), tint_duv=st.just(0.0) | st.floats(-0.03, 0.03)),
)
PATTERN_EXAMPLES = [
    *EXAMPLES.values(),
    *(
        example
        for view in pattern_views()
        if isinstance(example := PATTERNS[view.pattern].model_validate_json(json.dumps(view.example)), PatternStatement)
    ),
]
COLOURS_OF = {
    view.pattern: [one.name for one in view.parameters if one.kind == ParameterKind.COLOUR] for view in pattern_views()
}


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False) | st.integers(int(low) + 1, int(high)).map(float)


points = st.tuples(floats(-1_000, 1_000), floats(-1_000, 1_000))
paths = st.lists(points, min_size=2, max_size=4).map(tuple)


@st.composite
def pixel_types(draw: st.DrawFn, key: str) -> PixelType:
    micro = floats(0.1, 2)
    return PixelType(
        key=key,
        title=draw(titles),
        volts=draw(st.sampled_from((5.0, 12.0, 24.0))),
        minimum_volts=3.5,
        colour_order=draw(st.sampled_from(("GRB", "RGB", "GRBW"))),
        timing=NrzTiming(
            protocol="nrz",
            t0h_us=draw(micro),
            t0l_us=draw(micro),
            t1h_us=draw(micro),
            t1l_us=draw(micro),
            tolerance_us=0.15,
            reset_us=50.0,
        ),
        idle_ma=draw(floats(0, 2)),
        full_ma=EmitterCurrents(red=draw(floats(1, 20)), green=19.0, blue=19.0),
        typical_ma=20.0,
        sources=PixelTypeSources(otherwise=draw(titles), idle_ma=draw(st.none() | titles)),
    )


wires = st.one_of(
    st.fixed_dictionaries({"wire_mm2": floats(0.5, 6)}), st.fixed_dictionaries({"wire_awg": st.integers(0, 30)})
)
trims = st.just(1.0) | floats(0, 1)
kelvins = st.none() | floats(1_000, 20_000)


@st.composite
def layers(draw: st.DrawFn, zone: str, extent: Extent) -> Layer:
    """Any example of a pattern that fits the zone, in any colours, and any mask over it."""
    fitting = [one for one in PATTERN_EXAMPLES if not any(one.misfits(extent))]

    def pattern() -> PatternStatement:
        example = draw(st.sampled_from(fitting))
        own = {name: draw(colours) for name in COLOURS_OF[example.pattern]}
        spans = {"spans": draw(spots(extent.pixels))} if isinstance(example, Spot) else {}
        return example.model_copy(update=own | spans)

    return Layer(
        zone=zone,
        pattern=pattern(),
        mask=pattern() if draw(st.booleans()) else None,
        opacity=draw(st.sampled_from((1.0, 0.25))),
        blend=draw(st.sampled_from(get_args(get_args(Blend)[0]))),
        time_scale=draw(st.just(1.0) | floats(-100, 100)),
        phase_s=draw(st.just(0.0) | floats(-1_000, 1_000)),
    )


def spots(pixels: int) -> st.SearchStrategy[tuple[SpotSpan, ...]]:
    spot = st.integers(0, pixels - 1).flatmap(
        lambda first: st.builds(SpotSpan, first=st.just(first), pixels=st.integers(1, pixels - first))
    )
    return st.lists(spot, min_size=1, max_size=3).map(tuple)


days = st.dates(date(2020, 1, 1), date(2040, 12, 31))
times = st.times().map(lambda time: f"{time:%H:%M}") | st.sampled_from(
    ("civil dawn", "sunrise + 1 min", "sunset - 720 min", "civil dusk + 99 min")
)
fades_ms = st.sampled_from((0, 1_500, 3_000))
confirmations = st.none() | titles


@st.composite
def entries(draw: st.DrawFn, identifier: str, scenes: list[str]) -> TimetableEntry:
    """An entry that names its days in any way, for a venue that states its place."""
    first_day, ways = draw(days), ("dates", "weekdays", "rule", "range", "every day")
    match draw(st.sampled_from(ways)):
        case "dates":
            dates = tuple(draw(st.lists(days, min_size=1, max_size=3, unique=True)))
            named: dict[str, Any] = {"dates": dates, "except_dates": dates[:1]}
        case "weekdays":
            named = {"weekdays": tuple(draw(st.permutations(get_args(Weekday)))[:3]), "first_day": first_day}
        case "rule":
            rules = ("FREQ=MONTHLY;BYDAY=1FR,-1SU", "FREQ=WEEKLY;INTERVAL=2;WKST=SU", "FREQ=DAILY;COUNT=9")
            named = {"rule": draw(st.sampled_from(rules)), "first_day": first_day}
        case "range":
            named = {"first_day": first_day, "last_day": max(first_day, draw(days)), "except_dates": (first_day,)}
        case _:
            named = {}
    return TimetableEntry(
        id=identifier,
        title=draw(st.none() | titles),
        scene=draw(st.sampled_from([None, *scenes])),
        begins=draw(times),
        ends=draw(times),
        fade_ms=draw(fades_ms),
        flash_confirmed_by=draw(confirmations),
        **named,
    )


@st.composite
def cue_lists(draw: st.DrawFn, identifier: str, scenes: list[str]) -> CueList:
    cues = [
        Cue(
            id=cue,
            title=draw(st.none() | titles),
            scene=draw(st.sampled_from([None, *scenes])),
            fade_ms=draw(fades_ms),
            follow_on_s=draw(st.none() | floats(1, 86_400)),
            flash_confirmed_by=draw(confirmations),
        )
        for cue in draw(st.lists(ids, min_size=1, max_size=3, unique=True))
    ]
    cues[-1] = cues[-1].model_copy(update={"follow_on_s": None})
    return CueList(id=identifier, title=draw(titles), cues=tuple(cues))


@st.composite
def venues(draw: st.DrawFn) -> Venue:
    """A venue without a mistake."""
    own_types = [
        draw(pixel_types(key))
        for key in draw(st.lists(ids.filter(lambda key: key not in PIXEL_CATALOGUE), max_size=2, unique=True))
    ]
    kinds = [*own_types, *PIXEL_CATALOGUE.values()]
    supplies: dict[str, Supply] = {}
    nodes: list[Node] = []
    spans: list[Span] = []
    for node_id in draw(st.lists(ids, max_size=3, unique=True)):
        channels = []
        numbers = draw(st.permutations((1, 2, 3, 4)))[: draw(st.integers(0, 4))]
        for number in numbers:
            kind = draw(st.sampled_from(kinds))
            pixels = draw(st.integers(2, 50))
            supply_id = f"{draw(ids)}-{kind.volts:g}"
            supplies.setdefault(
                supply_id,
                Supply(
                    id=supply_id,
                    title=draw(st.none() | titles),
                    volts=kind.volts,
                    rated_a=draw(floats(1, 60)),
                    derating=draw(st.sampled_from((0.8, 0.5, 1.0))),
                    output_ohm=draw(floats(0, 1)),
                    efficiency=draw(st.sampled_from((0.85, 0.9))),
                    sharing=draw(st.sampled_from(("fixed", "by-need"))),
                ),
            )
            at_pixels = draw(st.lists(st.integers(0, pixels - 1), min_size=1, max_size=3, unique=True))
            feeds = [
                Feed(
                    supply=supply_id,
                    at_pixel=at,
                    **draw(wires),
                    length_m=draw(floats(0.5, 30)),
                    conductor_c=draw(st.sampled_from((30.0, 45.5))),
                    fuse_a=draw(st.none() | floats(1, 30)),
                )
                for at in at_pixels
            ]
            run = Run(
                pixel_type=kind.key,
                pixels=pixels,
                pixels_per_m=draw(floats(1, 144)),
                white_balance=draw(st.just(WhiteBalance()) | st.builds(WhiteBalance, red=floats(0.1, 1))),
                white_emitter_k=draw(kelvins) if "W" in kind.colour_order else None,
                loop_ohm_per_m=draw(st.none() | floats(0.01, 1)),
                positive_cut_before=draw(st.sampled_from(((), (max(at_pixels),))))
                if min(at_pixels) < max(at_pixels)
                else (),
                feeds=tuple(feeds),
            )
            channels.append(Channel(number=number, pin=f"spidev{number}.0", run=run))
            cut = draw(st.integers(0, pixels - 1))
            for first, length in ((0, cut), (cut, pixels - cut)):
                if length and draw(st.booleans()):
                    spans.append(Span(node=node_id, channel=number, first=first, pixels=length, path=draw(paths)))
        nodes.append(
            Node(
                id=node_id,
                title=draw(st.none() | titles),
                outputs=4,
                tags=tuple(draw(st.lists(ids, max_size=2, unique=True))),
                frame_rate_limit_hz=draw(st.none() | floats(1, 100)),
                channels=tuple(channels),
            )
        )
    zones, extents = _zones(draw, spans)
    scenes = [
        Scene(
            id=scene_id,
            title=draw(titles),
            note=draw(notes),
            layers=tuple(
                draw(layers(zone, extents[zone]))
                for zone in (draw(st.lists(st.sampled_from(sorted(extents)), max_size=3)) if extents else [])
            ),
        )
        for scene_id in draw(st.lists(ids, max_size=3, unique=True))
    ]
    scene_ids = [scene.id for scene in scenes]
    return Venue(
        id=draw(ids),
        title=draw(titles),
        note=draw(notes),
        master_level=draw(trims),
        opening_scene=scenes[0].id if scenes else None,
        place=Place(latitude_deg=draw(floats(-90, 90)), longitude_deg=draw(floats(-180, 180))),
        time_zone=draw(st.sampled_from(("UTC", "Europe/Vienna", "America/Argentina/Ushuaia", "Etc/GMT+5"))),
        approves_rollouts=draw(st.booleans()),
        timetable=tuple(draw(entries(one, scene_ids)) for one in draw(st.lists(ids, max_size=3, unique=True))),
        cue_lists=tuple(draw(cue_lists(one, scene_ids)) for one in draw(st.lists(ids, max_size=2, unique=True))),
        pixel_types=tuple(own_types),
        supplies=tuple(supplies.values()),
        nodes=tuple(nodes),
        zones=zones,
        scenes=tuple(scenes),
    )


def _zones(draw: st.DrawFn, spans: list[Span]) -> tuple[tuple[Zone, ...], dict[str, Extent]]:
    names = iter(draw(st.lists(ids, min_size=len(spans) + 1, max_size=len(spans) + 1, unique=True)))
    zones = []
    left = list(spans)
    while left:
        taken, left = left[:2], left[2:]
        zones.append(
            Zone(
                id=next(names),
                title=draw(st.none() | titles),
                trim=draw(trims),
                white_point_k=draw(kelvins),
                spans=tuple(taken),
            )
        )
    extents = {zone.id: extent_of(zone.spans) for zone in zones}
    if len(zones) > 1:
        group = Zone(id=next(names), trim=draw(trims), white_point_k=draw(kelvins), of=tuple(zone.id for zone in zones))
        zones.insert(draw(st.integers(0, len(zones))), group)
        extents[group.id] = extent_of(spans)
    return tuple(zones), extents


def changed(item: Contract, **fields: object) -> Any:  # noqa: ANN401 (the contract that went in)
    """`item` with some fields replaced, validated again."""
    return type(item).model_validate({name: getattr(item, name) for name in type(item).model_fields} | fields)
