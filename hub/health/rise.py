"""How far a counter has risen lately. Pure."""

Mark = tuple[float, int]


class Rise:
    """In the last `span_s`, or up to twice as long: it keeps two marks. A counter that falls began anew."""

    __slots__ = ("_count", "_newer", "_older", "_span_s")

    def __init__(self, span_s: float) -> None:
        self._span_s = span_s
        self._count = 0
        self._older: Mark | None = None
        self._newer: Mark | None = None

    def note(self, now_s: float, count: int) -> None:
        newer = self._newer
        if newer is None or self._older is None or count < self._count or now_s < newer[0]:
            self._older = self._newer = (now_s, count)
        elif now_s - newer[0] >= self._span_s:
            self._older, self._newer = newer, (now_s, count)
        self._count = count

    @property
    def lately(self) -> int:
        return 0 if self._older is None else self._count - self._older[1]
