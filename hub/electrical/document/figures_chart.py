"""A supply's figures side by side, against budget and rating: estimates are bars, what boards told marks. Pure."""

from collections.abc import Iterator
from typing import Final

import svg
from markupsafe import Markup

from hub.electrical.document.ink import FAINT, INK, SIZE, SOFT, WIDTH, box, chart, letters, round_steps, shape, stroke
from hub.electrical.paper.typeface import text_width
from hub.electrical.view import SupplyAudit

_LEFT: Final = 132.0
_RIGHT: Final = WIDTH - 52.0
_TOP: Final = 30.0
_ROW: Final = 13.0
_BAR: Final = 7.0
_GAP: Final = 5.0


def figures_chart(supply: SupplyAudit, scene: str | None) -> Markup:
    """The three estimates as bars and telemetry's figures as marks, on one scale of amps."""
    estimates = (
        ("Typical, by rule of thumb", supply.typical_a, "–"),
        ("Scene peak, before the limiter", supply.scene_peak_a, "no scene in force"),
        ("Worst case, every emitter full", supply.worst_case_a, "–"),
    )
    told = (
        ("Told by boards: now", supply.telemetry_now_a),
        ("Told by boards: 95th percentile", supply.telemetry_percentile_95_a),
        ("Told by boards: highest", supply.telemetry_highest_a),
    )
    known = [amps for _, amps, *_ in (*estimates, *told) if amps is not None]
    most_a = max(supply.rated_a, *known) * 1.04
    steps = round_steps(0.0, most_a, 8)
    across = (_RIGHT - _LEFT) / most_a
    bottom = _TOP + _ROW * (len(estimates) + len(told)) + _GAP * 2

    def x_of(amps: float) -> float:
        return _LEFT + amps * across

    def drawn() -> Iterator[svg.Element]:
        for step in steps:
            yield stroke([(x_of(step), _TOP), (x_of(step), bottom)], width=0.4, colour=FAINT)
            yield letters(x_of(step), bottom + 9, f"{step:g}", anchor="middle", soft=True)
        yield letters(_RIGHT + 6, bottom + 9, "A", soft=True)
        y = _TOP + _GAP
        for (name, amps, absent), fill in zip(estimates, ("#ffffff", FAINT, SOFT), strict=True):
            yield letters(0, y + _BAR, name)
            if amps is None:
                yield letters(_LEFT + 4, y + _BAR, absent, soft=True)
            else:
                yield box(_LEFT, y + 0.5, amps * across, _BAR, fill=fill)
            yield _value(y, amps)
            y += _ROW
        y += _GAP / 2
        yield stroke([(0, y - 2), (WIDTH, y - 2)], width=0.3, colour=FAINT)
        for name, told_a in told:
            yield letters(0, y + _BAR, name)
            if told_a is None:
                yield letters(_LEFT + 4, y + _BAR, "not told yet", soft=True)
            else:
                yield stroke([(_LEFT, y + 4), (x_of(told_a), y + 4)], width=0.6, dash=(0.8, 1.6))
                yield _diamond(x_of(told_a), y + 4)
            yield _value(y, told_a)
            y += _ROW
        yield stroke([(_LEFT, _TOP), (_LEFT, bottom), (_RIGHT, bottom)], width=0.8)
        yield from _limit(x_of(supply.rated_a), 9.0, bottom, f"rated {supply.rated_a:g} A", width=0.9, dash=(4, 2))
        yield from _limit(x_of(supply.budget_a), 20.0, bottom, f"budget {supply.budget_a:g} A", width=1.6, dash=None)

    title = f"Amps of {supply.supply} against its budget and rating" + (f", scene {scene}" if scene else "")
    return chart(bottom + 14, title, drawn())


def _value(y: float, amps: float | None) -> svg.Element:
    return letters(WIDTH, y + _BAR, "–" if amps is None else f"{amps:.2f} A", anchor="end", bold=True)


def _diamond(x: float, y: float) -> svg.Element:
    return shape([(x - 3.2, y), (x, y - 3.2), (x + 3.2, y), (x, y + 3.2)], fill="#ffffff", width=1.0)


def _limit(
    x: float, y: float, bottom: float, words: str, *, width: float, dash: tuple[float, float] | None
) -> Iterator[svg.Element]:
    """A line across all bars; its words on a line of their own, so that two limits never run into one another."""
    yield stroke([(x, y + 2), (x, bottom)], width=width, dash=dash, colour=INK)
    fits = x + 3 + text_width(words, SIZE) <= WIDTH
    yield letters(x + 3 if fits else x - 3, y, words, anchor="start" if fits else "end", bold=True)
