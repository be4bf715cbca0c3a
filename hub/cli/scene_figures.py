"""What `scene preview` prints: rows of colours, amps against budgets, when the limiter acts."""

from collections.abc import Sequence
from typing import Any, Final

from rich.console import Console
from rich.text import Text

from hub.cli.printing import print_table, printable, say

NARROWEST: Final = 20
PIPE_WIDTH: Final = 100
COURSE_CELLS: Final = 24
_BARS: Final = "▁▂▃▄▅▆▇█"
_STRETCHES_SHOWN: Final = 40


def print_preview(answer: dict[str, Any]) -> None:
    """The answer of a preview, for a person."""
    say(f"{answer['title']} ({answer['scene']})")
    _print_rows(answer)
    say()
    moves = bool(answer["window_s"])
    if moves:
        period = "its whole period" if answer["whole"] else "a part of it: it repeats later"
        say(f"Amps at the highest of {answer['samples']} instants over {answer['window_s']:g} s ({period}):")
    else:
        say("Amps; the scene stands still:")
    columns = (
        "supply",
        "budget A",
        "highest A",
        "at s",
        "after limiter A",
        "what the limiter does",
        "asked for over time",
    )
    rows = [
        (
            one["supply"],
            one["budget_a"],
            one["highest_a"],
            one["at_s"],
            one["limited_a"],
            _limiting(one),
            course(one["asked_a"], max(one["budget_a"], one["highest_a"])),
        )
        for one in answer["supplies"]
    ]
    kept = len(columns) if moves else -1
    print_table(columns[:kept], [row[:kept] for row in rows])
    if moves:
        _print_stretches(answer["supplies"])


def course(amps: Sequence[float], full_a: float) -> str:
    """Amps over the window as bars, COURSE_CELLS at most, each the highest of its part; a whole bar is `full_a`."""
    cells = min(len(amps), COURSE_CELLS)
    highest = [max(amps[len(amps) * n // cells : len(amps) * (n + 1) // cells]) for n in range(cells)]
    steps = [min(int(one / full_a * len(_BARS)), len(_BARS) - 1) if full_a > 0 else 0 for one in highest]
    return "".join(_BARS[step] for step in steps)


def _limiting(supply: dict[str, Any]) -> str:
    scale = supply["limiter_scale"]
    return "nothing" if scale >= 1 else f"dims to {scale:.0%} at the highest instant"


def _print_stretches(supplies: Sequence[dict[str, Any]]) -> None:
    rows = [
        (supply["supply"], one["start_s"], one["end_s"], f"{one['lowest_scale']:.0%}")
        for supply in supplies
        for one in supply["limiting"]
    ]
    if not rows:
        return
    say()
    say("When the limiter acts while the scene runs; after a high instant it lets go slowly:")
    print_table(("supply", "from s", "to s", "dims to"), rows[:_STRETCHES_SHOWN])
    if len(rows) > _STRETCHES_SHOWN:
        say(f"and {len(rows) - _STRETCHES_SHOWN} more; --json has them all")


def _print_rows(answer: dict[str, Any]) -> None:
    console = Console(highlight=False)
    width = console.width if console.is_terminal else PIPE_WIDTH
    label = min(max((len(printable(zone["zone"])) for zone in answer["zones"]), default=0), 24)
    cells = max(width - label - 2, NARROWEST)
    for place, at_s in enumerate(answer["instants_s"]):
        if answer["window_s"]:
            say()
            say(f"at {at_s:g} s")
        for zone in answer["zones"]:
            row = zone["rows"][place]
            line = Text(f"{printable(zone['zone'])[:label]:<{label}}  ")
            for column in range(min(len(row), cells)):
                line.append("█", style=row[column * len(row) // min(len(row), cells)])
            console.print(line, no_wrap=True, overflow="crop", width=width)
