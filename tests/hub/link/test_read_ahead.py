"""The socket that reads ahead: whole packets in order, thinned out when the reader falls behind."""

import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from hub.link.packets import Heard, Thinned
from hub.link.read_ahead import READ_BYTES, ReadAhead
from tests.bench.ingest_flood import publish_packet


@contextmanager
def reading(max_ahead_bytes: int) -> Iterator[tuple[ReadAhead, socket.socket, list[Thinned]]]:
    ours, theirs = socket.socketpair()
    thinned: list[Thinned] = []
    with ours, theirs:
        ours.setblocking(False)
        yield ReadAhead(ours, thinned.append, max_ahead_bytes), theirs, thinned


def read_all(ahead: ReadAhead) -> bytes:
    """As paho does: little by little, until nothing is there."""
    parts: list[bytes] = []
    while True:
        try:
            part = ahead.recv(100)
        except (BlockingIOError, ssl.SSLWantReadError):
            return b"".join(parts)
        if not part:
            return b"".join(parts)
        parts.append(part)


def test_packets_come_out_as_they_went_in_and_never_in_part() -> None:
    packets = [publish_packet(f"topic/{number}", bytes(number)) for number in range(200)]
    with reading(1_000_000) as (ahead, sender, _):
        stream, out = b"".join(packets), b""
        for start in range(0, len(stream), 777):
            sender.sendall(stream[start : start + 777])
            out += read_all(ahead)
            assert out in [b"".join(packets[:count]) for count in range(len(packets) + 1)]
            assert ahead.pending() == 0
        assert out == stream


def test_packet_longer_than_what_is_read_at_once_waits_until_it_is_whole() -> None:
    packet = publish_packet("desired", bytes(3 * READ_BYTES))
    with reading(READ_BYTES) as (ahead, sender, thinned):
        out, sent = b"", 0
        sender.setblocking(False)
        while sent < len(packet):
            sent += sender.send(packet[sent : sent + READ_BYTES])
            out += read_all(ahead)
            assert not out or sent == len(packet)
        assert out == packet
        assert not any(one.taken_out for one in thinned)


def test_reader_that_falls_behind_gets_the_newest_of_each_topic_and_knows_what_it_missed() -> None:
    rounds = 400
    with reading(4 * READ_BYTES) as (ahead, sender, thinned):
        sender.setblocking(False)
        got: list[bytes] = []
        stream = b"".join(
            publish_packet(f"node/{node}", b"%06d" % number + bytes(2_000)) for number in range(rounds) for node in "ab"
        )
        sent = 0
        while sent < len(stream):
            try:
                sent += sender.send(stream[sent:])
            except BlockingIOError:
                got.append(ahead.recv(READ_BYTES))  # the sender is faster
        got.append(read_all(ahead))
        out = b"".join(got)
        taken_out = sum(sum(one.taken_out.values()) for one in thinned)
    packet_bytes = len(publish_packet("node/a", bytes(2_006)))
    assert taken_out
    assert len(out) == (2 * rounds - taken_out) * packet_bytes
    for node in "ab":
        place = out.rfind(f"node/{node}".encode())
        assert out[place + 6 : place + 12] == b"%06d" % (rounds - 1)


def test_what_came_before_the_end_is_read_first() -> None:
    packet = publish_packet("a", b"last words")
    with reading(1_000) as (ahead, sender, _):
        sender.sendall(packet)
        sender.close()
        assert ahead.recv(len(packet)) == packet
        assert ahead.recv(1) == b""


def test_broken_connection_is_told() -> None:
    with reading(1_000) as (ahead, _sender, _):
        with pytest.raises(BlockingIOError):
            ahead.recv(1)
        ahead.close()
        with pytest.raises(OSError, match="Bad file descriptor"):
            ahead.recv(1)


def test_who_hears_gets_messages_at_qos_0_and_the_reader_only_the_rest_until_the_stream_ends() -> None:
    acknowledgement = b"\x40\x02\x00\x01"
    messages = [Heard(b"topic/%d" % number, bytes(number), retained=False) for number in range(300)]
    stream = b"".join(publish_packet(one.topic.decode(), one.payload) + acknowledgement for one in messages)
    heard: list[Heard] = []
    ours, theirs = socket.socketpair()
    with ours, theirs:
        ours.setblocking(False)
        ahead = ReadAhead(ours, lambda _rest: None, heard=heard.extend)
        out = b""
        for start in range(0, len(stream), 1_001):
            theirs.sendall(stream[start : start + 1_001])
            out += read_all(ahead)
        assert (heard, out) == (messages, acknowledgement * len(messages))
        theirs.sendall(publish_packet("last", b"word"))
        theirs.close()
        assert read_all(ahead) == b""
        assert heard[-1] == Heard(b"last", b"word", retained=False)
        assert ahead.recv(1) == b"", "the end of the stream is not hidden"
