"""A supply's figures side by side, against budget and rating: estimates are bars, what boards told marks. Pure."""

from collections.abc import Iterator
from typing import Final

import svg
from markupsafe import Markup

from hub.audit.document.ink import FAINT, SOFT, WIDTH, box, chart, letters, round_steps, shape, stroke
from hub.audit.view import SupplyAudit

_LEFT: Final = 132.0
_RIGHT: Final = WIDTH - 62.0
_TOP: Final = 14.0
_ROW: Final = 13.0
_BAR: Final = 7.0
_GAP: Final = 5.0


def figures_chart(supply: SupplyAudit, scene: str | None) -> Markup:
    """The three estimates as bars and telemetry's figures as marks, on one scale of amps."""
    estimates = (
        ("Typical, by rule of thumb", supply.typical_a, "#ffffff"),
        ("Scene peak, before the limiter", supply.scene_peak_a, FAINT),
        ("Worst case, every emitter full", supply.worst_case_a, SOFT),
    )
    told = (
        ("Told by boards: now", supply.telemetry_now_a),
        ("Told by boards: 95th percentile", supply.telemetry_percentile_95_a),
        ("Told by boards: highest", supply.telemetry_highest_a),
    )
    known = [amps for _, amps, *_ in (*estimates, *told) if amps is not None]
    most_a = max(supply.rated_a, *known) * 1.04
    bottom = _TOP + _ROW * (len(estimates) + len(told)) + _GAP * 2

    def x_of(amps: float) -> float:
        return _LEFT + amps / most_a * (_RIGHT - _LEFT)

    def drawn() -> Iterator[svg.Element]:
        for step in round_steps(0.0, most_a, 8):
            yield stroke([(x_of(step), _TOP), (x_of(step), bottom)], width=0.4, colour=FAINT)
            yield letters(x_of(step), bottom + 9, f"{step:g}", anchor="middle", soft=True)
        yield letters(_RIGHT + 6, bottom + 9, "A", soft=True)
        y = _TOP + _GAP
        for name, amps, fill in estimates:
            yield letters(0, y + _BAR, name)
            yield _value(y, amps, "no scene in force")
            if amps is not None:
                yield box(_LEFT, y + 0.5, x_of(amps) - _LEFT, _BAR, fill=fill)
            y += _ROW
        y += _GAP / 2
        yield stroke([(0, y - 2), (WIDTH, y - 2)], width=0.3, colour=FAINT)
        for name, told_a in told:
            yield letters(0, y + _BAR, name)
            yield _value(y, told_a, "not told yet")
            if told_a is not None:
                yield stroke([(_LEFT, y + 4), (x_of(told_a), y + 4)], dash=(0.8, 1.6))
                yield _diamond(x_of(told_a), y + 4)
            y += _ROW
        yield stroke([(_LEFT, _TOP), (_LEFT, bottom), (_RIGHT, bottom)], width=0.8)
        # Words on either side of the pair, so that they never meet, however close the two are.
        rated, budget = x_of(supply.rated_a), x_of(supply.budget_a)
        yield stroke([(rated, 2), (rated, bottom)], width=0.9, dash=(4, 2))
        yield letters(rated + 3, 8, f"rated {supply.rated_a:g} A", bold=True)
        yield stroke([(budget, 2), (budget, bottom)], width=1.6)
        yield letters(budget - 3, 8, f"budget {supply.budget_a:g} A", anchor="end", bold=True)

    title = f"Amps of {supply.supply} against its budget and rating" + (f", scene {scene}" if scene else "")
    return chart(bottom + 14, title, drawn())


def _value(y: float, amps: float | None, absent: str) -> svg.Element:
    words = absent if amps is None else f"{amps:.2f} A"
    return letters(WIDTH, y + _BAR, words, anchor="end", bold=amps is not None, soft=amps is None)


def _diamond(x: float, y: float) -> svg.Element:
    return shape([(x - 3.2, y), (x, y - 3.2), (x + 3.2, y), (x, y + 3.2)], fill="#ffffff", width=1.0)
