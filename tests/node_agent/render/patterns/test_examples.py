"""What must hold for every pattern, on an example of each."""

from schemas.pattern import PATTERNS
from tests.node_agent.render.patterns.examples import EXAMPLES


def test_every_pattern_has_an_example() -> None:
    assert {example.pattern for example in EXAMPLES.values()} == set(PATTERNS)
