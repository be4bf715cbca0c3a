"""The one line of JSON that a benchmark prints for each figure."""

import json


def print_line(
    *,
    bench: str,
    figure: str,
    unit: str,
    value: float,
    baseline: float,
    baseline_is: str,
    target: float,
    at_most: bool = True,
) -> None:
    """`ratio` is value over baseline; `holds` says whether the value is at most (else: at least) the target."""
    holds = value <= target if at_most else value >= target
    line = {
        "bench": bench,
        "figure": figure,
        "unit": unit,
        "value": _short(value),
        "baseline": _short(baseline),
        "baseline_is": baseline_is,
        "ratio": _short(value / baseline) if baseline else None,
        "target": _short(target),
        "holds": holds,
    }
    print(json.dumps(line, ensure_ascii=False), flush=True)


def _short(number: float) -> float:
    return float(f"{number:.4g}")
