"""The flash check of a scene: what was seen of it, in words and figures."""

from collections.abc import Callable
from typing import Final

import numpy as np

from hub.desired.flatten import flatten_zones
from hub.scenes.draft import alone_with, lights_for
from hub.scenes.elevation import elevation_of
from hub.scenes.flash.report import CAUTION, FlashFinding, FlashReport, FlashVerdict, Kind
from hub.scenes.flash.slowing import slow_down_that_passes
from hub.scenes.flash.thresholds import AREA_SR, FLASHES_ALLOWED, Test
from hub.scenes.flash.watching import Seen, Viewpoint, no_pause, viewpoint_of, watch
from hub.scenes.period import Window, window_of
from schemas import Scene, Venue

USUAL_DISTANCE_M: Final = 5.0
"""From the pavement before a shop front."""
USUAL_REACH_M: Final = 0.25

_WCAG: Final = "WCAG 2.2 SC 2.3.1"
_KINDS: Final[dict[Test, tuple[Kind, str]]] = {
    Test.GENERAL_WCAG: ("general", _WCAG),
    Test.GENERAL_BT1702: ("general", "ITU-R BT.1702"),
    Test.RED_WCAG: ("red", _WCAG),
}
_WORST_FIRST: Final = (FlashVerdict.FAILS, FlashVerdict.AT_THE_LIMIT, FlashVerdict.PASSES)


def check_flashes(
    venue: Venue,
    scene: Scene,
    distance_m: float = USUAL_DISTANCE_M,
    reach_m: float = USUAL_REACH_M,
    breathe: Callable[[], None] = no_pause,
) -> FlashReport:
    """Check a scene, the venue's own or a draft, as the venue's nodes would show it.

    Raises InvalidError for a draft with mistakes. Takes seconds for a long scene over many pixels, and some times as
    long for one that fails, since slower settings are tried; `breathe` is called between stretches of frames.
    """
    if stands_still(alone_with(venue, scene), scene):  # before anything that a large venue takes long for
        return _report(venue, scene, None, None, 1.0, distance_m, reach_m)
    lights = lights_for(venue, scene)
    viewpoint = viewpoint_of(elevation_of(venue), distance_m, reach_m)
    seen = watch(lights, scene, viewpoint, breathe)
    slow_down = slow_down_that_passes(lights, scene, viewpoint, seen, breathe)
    return _report(venue, scene, viewpoint, seen, slow_down, distance_m, reach_m)


def stands_still(venue: Venue, scene: Scene) -> bool:
    extents = {zone.id: zone.extent for zone in flatten_zones(venue).values()}
    return window_of(scene, extents).length_s == 0


def _report(
    venue: Venue,
    scene: Scene,
    viewpoint: Viewpoint | None,
    seen: Seen | None,
    slow_down: float | None,
    distance_m: float,
    reach_m: float,
) -> FlashReport:
    findings = [_finding(test, viewpoint, seen) for test in Test]
    told = {finding.verdict for finding in findings}
    verdict = next(verdict for verdict in _WORST_FIRST if verdict in told)
    window = Window(0.0, whole=True) if seen is None else seen.window
    return FlashReport(
        venue=venue.id,
        scene=scene.id,
        title=scene.title,
        verdict=verdict,
        summary=_summary(verdict, findings, slow_down),
        findings=findings,
        slow_down=slow_down,
        window_s=round(window.length_s, 3),
        whole=window.whole,
        instants=1 if seen is None else seen.instants,
        instants_a_second=round(seen.instants / seen.seen_s, 1) if seen is not None and seen.seen_s else 0.0,
        every=1 if viewpoint is None else viewpoint.every,
        distance_m=distance_m,
        reach_m=reach_m,
        limit_sr=AREA_SR,
        caution=CAUTION if verdict is FlashVerdict.FAILS else None,
    )


def _finding(test: Test, viewpoint: Viewpoint | None, seen: Seen | None) -> FlashFinding:
    kind, standard = _KINDS[test]
    worst = None if seen is None else seen.worst[test]
    if viewpoint is None or worst is None or worst.field is None or worst.pixels is None:
        return FlashFinding(kind=kind, standard=standard, verdict=FlashVerdict.PASSES)
    x_m, y_m = viewpoint.front.centres_m[worst.field].tolist()
    zones = np.unique(viewpoint.zone_of_pixel[worst.pixels]).tolist()
    return FlashFinding(
        kind=kind,
        standard=standard,
        verdict=FlashVerdict.FAILS if worst.fails else FlashVerdict.AT_THE_LIMIT,
        flashes_a_second=max(worst.a_second, FLASHES_ALLOWED + worst.fails),
        from_s=round(max(worst.from_s if worst.first_s is None else worst.first_s, 0.0), 3),
        shortest_s=round(worst.shortest_s, 3),
        area_sr=round(worst.area_sr, 5),
        x_m=round(x_m, 2),
        y_m=round(y_m, 2),
        zones=[viewpoint.zones[zone] for zone in zones],
    )


def _summary(verdict: FlashVerdict, findings: list[FlashFinding], slow_down: float | None) -> str:
    if verdict is FlashVerdict.PASSES:
        return "passes: no more than three flashes in any second, or of less area than counts"
    telling = [finding for finding in findings if finding.verdict is verdict]
    by_kind = [
        f"{kind} flashes by {' and '.join(finding.standard for finding in telling if finding.kind == kind)}"
        for kind in dict.fromkeys(finding.kind for finding in telling)
    ]
    worst = min(telling, key=lambda finding: finding.shortest_s or 0.0)
    found = (
        f"{verdict.value}: {', '.join(by_kind)}; {worst.flashes_a_second} in a second from show time "
        f"{worst.from_s:g} s on, around x {worst.x_m:g} m, y {worst.y_m:g} m ({', '.join(worst.zones)}), over "
        f"{worst.area_sr:.2g} sr of a field of 10°, where {AREA_SR} may flash"
    )
    if verdict is FlashVerdict.AT_THE_LIMIT:
        return f"{found}; one more in a second would fail"
    if slow_down is None:
        return f"{found}; no slower setting that passes was found"
    return f"{found}; it passes with every layer's time_scale times {slow_down:g}"
