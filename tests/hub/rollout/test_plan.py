"""Plans of rollouts: what they may say, and how selected nodes fall into batches."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from hub.rollout.plan import BatchSize, RolloutPlan, batches_of

NODES = tuple(f"bay-{number:03d}" for number in range(100))


def _sizes(*sizes: BatchSize, of: int = 100) -> list[int]:
    return [len(batch) for batch in batches_of(NODES[:of], sizes)]


def test_batches_reach_as_far_as_they_say_and_the_rest_is_the_last() -> None:
    assert _sizes(BatchSize(nodes=1), BatchSize(share=0.25), BatchSize(share=0.5)) == [1, 24, 25, 50]
    assert _sizes() == [100]


def test_share_is_rounded_up_and_never_by_the_error_of_binary_fractions() -> None:
    assert _sizes(BatchSize(share=0.01), of=30) == [1, 29]
    assert _sizes(BatchSize(share=0.07)) == [7, 93]


def test_batch_that_reaches_no_further_than_the_one_before_falls_away() -> None:
    assert _sizes(BatchSize(nodes=50), BatchSize(share=0.1), BatchSize(nodes=500)) == [50, 50]


@given(
    st.integers(0, 100),
    st.lists(
        st.one_of(
            st.integers(1, 200).map(lambda nodes: BatchSize(nodes=nodes)),
            st.floats(0.001, 1.0).map(lambda share: BatchSize(share=share)),
        ),
        max_size=20,
    ),
)
def test_every_node_is_in_one_batch_in_order_and_none_is_empty(count: int, sizes: list[BatchSize]) -> None:
    batches = batches_of(NODES[:count], tuple(sizes))
    assert [node for batch in batches for node in batch] == list(NODES[:count])
    assert all(batches)


@pytest.mark.parametrize(
    "document",
    [
        '{"scene": null, "batches": [{}]}',
        '{"scene": null, "batches": [{"nodes": 1, "share": 0.5}]}',
        '{"scene": null, "batches": [{"share": 0}]}',
        '{"scene": null, "soak_s": 86401}',
        '{"scene": null, "quorum_share": 1.5}',
        '{"scene": null, "take_at_ms": 5, "wait_for_go": true}',
        '{"scene": null, "on_failure": "ignore"}',
        '{"fade_ms": 5}',
    ],
)
def test_plan_that_contradicts_itself_is_refused(document: str) -> None:
    with pytest.raises(ValidationError):
        RolloutPlan.model_validate_json(document)
