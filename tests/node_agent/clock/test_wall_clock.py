"""What the kernel says of the wall clock, by adjtimex(2)."""

import ctypes

import pytest

from node_agent.clock.wall_clock import wall_clock_is_disciplined


class KernelThatSays:
    """The C library with one answer; it sees that nothing is set."""

    def __init__(self, state: int) -> None:
        self._state = state

    def adjtimex(self, request: "ctypes.Array[ctypes.c_char]") -> int:
        assert request.raw.strip(b"\0") == b"", "modes must be 0"
        return self._state


def test_this_kernel_can_be_asked() -> None:
    state = ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(1_024))
    assert wall_clock_is_disciplined() is (state in range(5))


@pytest.mark.parametrize(
    ("state", "disciplined"),
    [(0, True), (1, True), (4, True), (5, False), (-1, False)],
    ids=["TIME_OK", "TIME_INS", "TIME_WAIT", "TIME_ERROR", "not allowed to ask"],
)
def test_states_of_adjtimex(state: int, disciplined: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda _name: KernelThatSays(state))
    assert wall_clock_is_disciplined() is disciplined


def test_system_without_the_call_disciplines_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda _name: object())
    assert not wall_clock_is_disciplined()
