"""Rubbish derived from a good message: never valid JSON of the contract, the same every time."""

import random
from collections.abc import Callable


def mutations(valid: str, count: int) -> list[bytes]:
    """Random bytes, messages cut off, and messages with characters exchanged."""
    chance = random.Random(4)
    mutate: list[Callable[[], bytes]] = [
        lambda: bytes(chance.randrange(256) for _ in range(chance.randrange(1, 400))),
        lambda: valid[: chance.randrange(1, len(valid) - 1)].encode(),
        lambda: (
            valid.replace(chance.choice(valid), chance.choice('{}[],:"\\0'), chance.randrange(1, 4)).encode() + b"!"
        ),
    ]
    return [chance.choice(mutate)() for _ in range(count)]
