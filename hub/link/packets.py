"""Stretches of MQTT packets (MQTT 3.1.1, sections 2.2 and 3.3), cut and thinned out without parsing them. Pure."""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

PUBLISH_AT_QOS_0: Final = 0x30
"""First byte of a PUBLISH that is neither retained nor to be acknowledged. All else is kept."""


RETAINED_AT_QOS_0: Final = 0x31


class Heard(NamedTuple):
    """A message as it stands in its packet. The topic need not be UTF-8."""

    topic: bytes
    payload: bytes
    retained: bool


class Thinned(NamedTuple):
    """What is left, in order, and how many messages were taken out before the one left of each topic."""

    data: bytes
    taken_out: Mapping[str, int]


def whole_packets(data: bytes, at: int, enough_bytes: int) -> int:
    """Where the whole packets from `at` on end, up to the first by which there are `enough_bytes`."""
    whole = at
    for _start, _body, whole in _packets(data, at):
        if whole - at >= enough_bytes:
            break
    return whole


def dealt_out(packets: bytes) -> tuple[list[Heard], bytes]:
    """Of whole packets the messages at QoS 0, which nobody has to answer, and the other packets, each in order."""
    heard: list[Heard] = []
    others: list[bytes] = []
    for start, body, end in _packets(packets, 0):
        first = packets[start]
        topic_end = body + 2 + int.from_bytes(packets[body : body + 2])
        if first | 1 == RETAINED_AT_QOS_0 and body + 2 < topic_end <= end:
            heard.append(Heard(packets[body + 2 : topic_end], packets[topic_end:end], first == RETAINED_AT_QOS_0))
        else:
            others.append(packets[start:end])
    return heard, b"".join(others)


def thinned(data: bytes) -> Thinned:
    """Only the newest message of each topic. `data` begins with a packet; it may end within one, which is kept."""
    kept: dict[bytes | int, tuple[int, int]] = {}  # by topic, or by the place of what is kept in any case
    taken_out: dict[bytes, int] = {}
    whole_until = 0
    for start, body, end in _packets(data, 0):
        whole_until = end
        if data[start] != PUBLISH_AT_QOS_0:
            kept[start] = start, end
            continue
        topic = data[body + 2 : body + 2 + int.from_bytes(data[body : body + 2])]
        if kept.pop(topic, None) is not None:
            taken_out[topic] = taken_out.get(topic, 0) + 1
        kept[topic] = start, end
    left = b"".join([data[start:end] for start, end in kept.values()])
    return Thinned(left + data[whole_until:], {topic.decode(errors="replace"): n for topic, n in taken_out.items()})


def _packets(data: bytes, at: int) -> Iterator[tuple[int, int, int]]:
    """Where each whole packet from `at` on starts, where its body starts, where it ends."""
    size = len(data)
    while at + 2 <= size:
        body, length, shift = at + 2, data[at + 1] & 0x7F, 7
        while data[body - 1] & 0x80:
            if body >= size:
                return
            length |= (data[body] & 0x7F) << shift
            body, shift = body + 1, shift + 7
        if body + length > size:
            return
        yield at, body, body + length
        at = body + length
