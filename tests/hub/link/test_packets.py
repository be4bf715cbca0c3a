"""Packets cut and thinned out, held against paho's own parser of packets (MQTT 3.1.1)."""

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paho.mqtt import _packet
from paho.mqtt.enums import MQTTProtocolVersion

from hub.link.packets import Heard, dealt_out, thinned, whole_packets
from tests.bench.ingest_flood import publish_packet

ACKNOWLEDGED = b"\x40\x02\x00\x07"
PING_ANSWERED = b"\xd0\x00"

published = st.builds(
    publish_packet, st.sampled_from(["a", "b", "a/long/topic/é"]), st.binary(max_size=300), retain=st.booleans()
)
packets = st.lists(st.one_of(published, st.just(ACKNOWLEDGED), st.just(PING_ANSWERED)), max_size=30)


def topic_and_payload(packet: bytes) -> tuple[bytes, bytes]:
    """By paho."""
    body = 1 + next(place for place in range(1, 5) if not packet[place] & 0x80)
    read = _packet.decode_publish(packet[0], bytearray(packet[body:]), MQTTProtocolVersion.MQTTv311)
    return bytes(read.topic), bytes(read.payload)


@given(packets, st.integers(0, 2_000))
def test_stretch_is_cut_between_two_packets(whole: list[bytes], enough_bytes: int) -> None:
    data = b"".join(whole)
    ends = [0, *(sum(map(len, whole[: number + 1])) for number in range(len(whole)))]
    expected = next((end for end in ends[1:] if end >= enough_bytes), ends[-1])
    assert whole_packets(data, 0, enough_bytes) == expected
    for start in ends:
        assert whole_packets(data, start, len(data)) == ends[-1]
    for cut in range(len(data)):
        assert whole_packets(data[:cut], 0, len(data)) == max(end for end in ends if end <= cut)


@given(packets, published)
def test_newest_of_each_topic_stays_in_order_and_the_rest_is_counted(whole: list[bytes], last: bytes) -> None:
    partial = last[: len(last) // 2]
    rest = thinned(b"".join(whole) + partial)
    is_newest: dict[bytes, int] = {}
    for number, packet in enumerate(whole):
        if packet[0] == 0x30:
            is_newest[topic_and_payload(packet)[0]] = number
    kept = [p for number, p in enumerate(whole) if p[0] != 0x30 or number in is_newest.values()]
    assert rest.data == b"".join(kept) + partial
    assert sum(rest.taken_out.values()) == len(whole) - len(kept)
    for topic, messages in rest.taken_out.items():
        assert messages == sum(p[0] == 0x30 and topic_and_payload(p)[0] == topic.encode() for p in whole) - 1


@pytest.mark.parametrize("size", [0, 1, 124, 125, 16_379, 16_380, 2_097_147, 2_097_148])
def test_lengths_of_one_to_four_bytes(size: int) -> None:
    packet = publish_packet("t", bytes(size))
    assert packet.endswith(struct.pack("!H", 1) + b"t" + bytes(size))
    assert whole_packets(packet, 0, 1) == len(packet)
    assert whole_packets(packet[:-1], 0, 1) == 0
    assert thinned(packet * 2).data == packet


def test_messages_at_qos_0_are_dealt_out_and_all_else_is_left_as_it_stood() -> None:
    plain, retained = publish_packet("a/b", b"one"), b"\x31" + publish_packet("a/c", b"")[1:]
    at_qos_1 = b"\x32" + publish_packet("a/d", b"\x00\x07two")[1:]
    acknowledgement, without_topic, cut_topic = b"\x40\x02\x00\x01", b"\x30\x02\x00\x00", b"\x30\x03\x00\x09x"
    heard, others = dealt_out(plain + acknowledgement + retained + at_qos_1 + without_topic + cut_topic)
    assert heard == [Heard(b"a/b", b"one", retained=False), Heard(b"a/c", b"", retained=True)]
    assert others == acknowledgement + at_qos_1 + without_topic + cut_topic
