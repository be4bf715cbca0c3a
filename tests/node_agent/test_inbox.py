"""The inbox is bounded, keeps order, and loses messages rather than what the agent itself must know."""

from node_agent.inbox import MAX_EVENTS, MAX_PAYLOAD_BYTES, Connected, Inbox, Received, Stopping


def test_events_come_out_in_order_and_an_empty_inbox_gives_none_in_time() -> None:
    inbox = Inbox()
    inbox.put(Connected(1))
    inbox.put(Stopping("asked"))
    assert [inbox.take(0), inbox.take(0), inbox.take(0.01)] == [Connected(1), Stopping("asked"), None]


def test_flood_of_messages_is_bounded_in_number_and_loses_the_oldest() -> None:
    inbox = Inbox()
    inbox.put(Connected(1))
    for number in range(MAX_EVENTS * 2):
        inbox.put(Received("ask", str(number).encode(), 0.0))
    held = []
    while event := inbox.take(0):
        held.append(event)
    assert len(held) == MAX_EVENTS
    assert held[0] == Connected(1)
    assert held[-1] == Received("ask", str(MAX_EVENTS * 2 - 1).encode(), 0.0)


def test_flood_of_large_messages_is_bounded_in_bytes() -> None:
    inbox = Inbox()
    for _ in range(50):
        inbox.put(Received("desired", bytes(MAX_PAYLOAD_BYTES // 5), 0.0))
    held = 0
    while isinstance(event := inbox.take(0), Received):
        held += len(event.payload)
    assert held <= MAX_PAYLOAD_BYTES
