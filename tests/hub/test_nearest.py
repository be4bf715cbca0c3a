from hub.nearest import Nearest

NAMES = ("wash", "wave", "speed_m_per_s", "spacing_m")


def test_what_begins_so_is_meant_before_what_is_spelt_alike() -> None:
    assert Nearest().among("speed", NAMES) == "speed_m_per_s"
    assert Nearest().among("wosh", NAMES) == "wash"
    assert Nearest().among("w", NAMES) is None
    assert Nearest().among("x" * 1_000_000, NAMES) is None


def test_guesses_end_when_the_comparisons_are_spent() -> None:
    nearest = Nearest(comparisons=2 * len(NAMES))
    assert [nearest.among("wosh", NAMES) for _ in range(3)] == ["wash", "wash", None]
