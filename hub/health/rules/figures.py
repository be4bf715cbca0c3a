"""How figures stand in evidence and in sentences."""


def milliseconds(seconds: float | None) -> int | None:
    return int(seconds * 1000) if seconds is not None else None


def percent(share: object) -> str:
    value = float(str(share))
    return "less than 1 %" if 0 < value < 0.01 else f"{value * 100:.0f} %"
