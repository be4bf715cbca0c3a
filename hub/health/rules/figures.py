"""How figures stand in evidence and in sentences."""


def milliseconds(seconds: float | None) -> int | None:
    return int(seconds * 1000) if seconds is not None else None


def percent(share: object) -> str:
    return f"{float(str(share)) * 100:.0f} %"
